import { AppError, type Problem } from '../base/errors.js';
import { convert, convertDifference } from '../base/units.js';
import { readReported } from '../dossier/reported-value.js';
import type { Lot } from '../kinds/lot.js';
import type { Specification } from '../kinds/specification.js';
import type { Reads } from '../store/repositories.js';
import type { NewResult } from '../store/results.js';
import type { Known } from './known.js';
import type { SheetRow } from './results-file.js';
import type { NotYet } from './time-rules.js';

export interface ResultSheet {
  readonly file: string;
  readonly sha256: string;
  readonly rows: readonly SheetRow[];
  /** Set where the program computed the values of what the sheet says. */
  readonly isComputed?: boolean;
  /** The profile by which it was read, where it is the export of an instrument. */
  readonly readBy?: { readonly profile: string; readonly revision: number };
}

/** A sheet with those of its rows that are new or replace a recorded one. */
export interface PlannedSheet extends ResultSheet {
  readonly path: string;
  readonly added: readonly NewResult[];
}

type CurrentResult = Awaited<ReturnType<Reads['results']['current']>>[number];

/** Name of a value: a lot has one of each. */
export const keyOf = (row: { specimen: string; piece: string; characteristic: string; replicate: number }): string =>
  [row.specimen, row.piece, row.characteristic, row.replicate].join(' / ');

/** Values that nobody types, by their source. */
const COMPUTED: Readonly<Record<string, { readonly from: string; readonly remedy: string }>> = {
  exposure: {
    from: 'a sheet under exposures/ with what was weighed and measured, from which it is computed',
    remedy: 'give the exposures',
  },
  shape: { from: 'a scan under scans of the lot file, from which it is computed', remedy: 'give the scan' },
};

/** Facts of a row that may not change without a reason. */
const FACTS = [
  'reportedValue',
  'reportedUcum',
  'standardUncertainty',
  'startedAt',
  'measuredAt',
  'instrument',
  'analyst',
  'method',
  'methodRevision',
  'enteredBy',
] as const;

/**
 * Compares the result sheets of a lot with the lot, its specification, and the results on record.
 * @returns per sheet the rows that are new or replace a recorded one, and everything that is wrong.
 */
export async function planResults(
  lot: Lot,
  specification: Specification,
  sheets: readonly Omit<PlannedSheet, 'added'>[],
  recorded: readonly CurrentResult[],
  known: Known,
  notYet: NotYet,
): Promise<{ sheets: PlannedSheet[]; problems: Problem[] }> {
  const problems: Problem[] = [...repeatedRows(sheets), ...vanishedRows(sheets, recorded)];
  const byKey = new Map(recorded.map((row) => [keyOf(row), row]));
  const planned: PlannedSheet[] = [];
  for (const sheet of sheets) {
    const added: NewResult[] = [];
    for (const row of sheet.rows) {
      const before = byKey.get(keyOf(row));
      const found = await rowProblems(lot, specification, sheet, row, known);
      if (row.measuredAt !== before?.measuredAt) {
        found.push(...notYet({ file: sheet.file, line: row.line, field: 'measuredAt', found: row.measuredAt }));
      }
      if (found.length > 0) {
        problems.push(...found);
        continue;
      }
      const fresh = asResult(specification, sheet, row);
      if (!before) added.push(fresh);
      else if (differs(before, fresh)) {
        if (row.reason === '') problems.push(changeProblem(sheet.file, row, before));
        else added.push({ ...fresh, replacesId: before.id });
      } else if (before.checkedBy === '' && fresh.checkedBy !== '') {
        added.push({ ...fresh, reason: row.reason || 'checked by a second person', replacesId: before.id });
      }
    }
    planned.push({ ...sheet, added });
  }
  return { sheets: planned, problems };
}

function asResult(specification: Specification, sheet: ResultSheet, row: SheetRow): NewResult {
  const { ucum } = specification.characteristics.find((item) => item.characteristic === row.characteristic)!;
  const { qualifier, number } = readReported(row.value);
  return {
    specimen: row.specimen,
    piece: row.piece,
    characteristic: row.characteristic,
    replicate: String(row.replicate),
    value: `${qualifier}${convert(number, row.ucum, ucum)}`,
    ucum,
    reportedValue: row.value,
    reportedUcum: row.ucum,
    standardUncertainty:
      row.standardUncertainty === '' ? '' : convertDifference(row.standardUncertainty, row.ucum, ucum),
    startedAt: row.startedAt,
    measuredAt: row.measuredAt,
    instrument: row.instrument,
    analyst: row.analyst,
    method: row.method,
    methodRevision: String(row.methodRevision),
    enteredBy: row.enteredBy,
    checkedBy: row.checkedBy,
    file: sheet.file,
    evidence: sheet.sha256,
    line: String(row.line),
    reason: row.reason,
  };
}

const differs = (before: CurrentResult, fresh: NewResult): boolean =>
  FACTS.some((name) => String(before[name]) !== fresh[name]);

function changeProblem(file: string, row: SheetRow, before: CurrentResult): Problem {
  return {
    code: 'change-without-reason',
    file,
    line: row.line,
    field: 'reason',
    found: `${keyOf(row)} with other facts than recorded (recorded value: ${before.reportedValue})`,
    expected: 'a reason for the correction',
    remedy: 'fill the column "reason", or restore the recorded row',
  };
}

function repeatedRows(sheets: readonly ResultSheet[]): Problem[] {
  const seen = new Map<string, string>();
  return sheets.flatMap(({ file, rows }) =>
    rows.flatMap((row) => {
      const first = seen.get(keyOf(row));
      if (first === undefined) {
        seen.set(keyOf(row), `${file}:${row.line}`);
        return [];
      }
      return [
        {
          code: 'duplicate-key',
          file,
          line: row.line,
          field: 'replicate',
          found: `${keyOf(row)}, which ${first} has too`,
          expected: 'one value for each specimen, characteristic and replicate',
          remedy: 'number the replicates, or remove the stale row',
        },
      ];
    }),
  );
}

/** A row that was taken in and is gone is no correction: somebody must say what happened to it. */
function vanishedRows(sheets: readonly ResultSheet[], recorded: readonly CurrentResult[]): Problem[] {
  const present = new Set(sheets.flatMap(({ rows }) => rows.map(keyOf)));
  const files = new Set(sheets.map((sheet) => sheet.file));
  return recorded
    .filter((row) => files.has(row.file) && !present.has(keyOf(row)))
    .map((row) => ({
      code: 'vanished-row',
      file: row.file,
      field: 'specimen',
      found: `no row for ${keyOf(row)}, which was taken in from this file`,
      expected: 'every recorded row',
      remedy: 'put the row back; a wrong value is corrected with a reason, not removed',
    }));
}

async function rowProblems(
  lot: Lot,
  specification: Specification,
  { file, isComputed = false }: ResultSheet,
  row: SheetRow,
  known: Known,
): Promise<Problem[]> {
  const problems: Problem[] = [];
  const add = (field: string, found: string, expected: string, remedy: string, code = 'unknown-reference') =>
    problems.push({ code, file, line: row.line, field, found, expected, remedy });

  const specimens = [...lot.implants.map((part) => part.serial), ...lot.coupons.map((part) => part.coupon)];
  if (!specimens.includes(row.specimen)) {
    add(
      'specimen',
      row.specimen,
      `an implant or coupon of lot ${lot.lot}`,
      'correct it, or move the row to its own lot',
    );
  }
  if (row.startedAt !== '' && Date.parse(row.startedAt) > Date.parse(row.measuredAt)) {
    add(
      'startedAt',
      row.startedAt,
      `a start that is not after the measuring at ${row.measuredAt}`,
      'correct one of the two times',
      'contradiction',
    );
  }
  const item = specification.characteristics.find((entry) => entry.characteristic === row.characteristic);
  if (!item) {
    const names = specification.characteristics.map((entry) => entry.characteristic).join(', ');
    add('characteristic', row.characteristic, `one of ${names}`, 'use the name that the specification uses');
  } else {
    const computed = isComputed ? undefined : COMPUTED[item.source ?? 'measured'];
    if (computed) {
      const { from, remedy } = computed;
      add('characteristic', `a typed value of ${row.characteristic}`, from, remedy, 'computed-value');
    }
    const trouble = unitTrouble(row, item.ucum);
    if (trouble) add('ucum', row.ucum, `a unit that converts to ${item.ucum}`, trouble, 'unit');
  }
  for (const [field, kind, key] of [
    ['instrument', 'instrument', row.instrument],
    ['analyst', 'person', row.analyst],
    ['enteredBy', 'person', row.enteredBy],
    ['checkedBy', 'person', row.checkedBy],
  ] as const) {
    if (key !== '' && !(await known.has(kind, key))) {
      add(field, key, `a ${kind} that is in the data folder`, `take in the ${kind} first, or correct the spelling`);
    }
  }
  if (!(await known.has('method', row.method, row.methodRevision))) {
    add(
      'method',
      `${row.method} revision ${row.methodRevision}`,
      'a test method in the data folder',
      'take it in first',
    );
  }
  if (row.checkedBy !== '' && row.checkedBy === (row.enteredBy || row.analyst)) {
    add(
      'checkedBy',
      row.checkedBy,
      'another person than the one who entered it',
      'let another person check',
      'independence',
    );
  }
  return problems;
}

function unitTrouble(row: SheetRow, ucum: string): string | undefined {
  try {
    convert('1', row.ucum, ucum);
    return undefined;
  } catch (error) {
    if (error instanceof AppError) return error.message;
    throw error;
  }
}
