import { BadInputError, type Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import type { InstrumentProfile } from '../kinds/instrument-profile.js';
import { LoggerClock } from '../process-logs/logger/logger-clock.js';
import { cellsOf, isBlank, linesOfText } from './declared-text.js';
import { readQif } from './qif-results.js';
import { unitProblem } from './qif-units.js';
import { readWorkbook } from './workbook.js';

/** A line of a text, a row of a sheet, or a value of a QIF file. */
export interface ExportLine {
  /** Where it stands, if it is not counted from the beginning. */
  readonly line?: number;
  /** What it begins a table with; nothing where it holds nothing. */
  readonly text: string;
  /** @param columns as many as the head has. Undefined for a quote that is not closed. */
  cells(columns?: number): string[] | undefined;
}

/** The lines of a sheet, or why there are none. */
export type ExportSource = (sheet: string | undefined) => readonly ExportLine[] | Problem;

/** Whether an export is results by QIF, told by its name. */
export const isQif = (file: string): boolean => /\.qif$/i.test(file);

/**
 * What an export holds: a text, a workbook, or results by QIF, told by its name.
 * @throws BadInputError for what none of them is.
 */
export async function sourceOfExport(
  file: string,
  bytes: Uint8Array,
  profile: InstrumentProfile,
): Promise<ExportSource> {
  if (isQif(file)) return ofQif(file, bytes, profile);
  return /\.xlsx$/i.test(file) ? ofWorkbook(file, bytes, profile) : ofText(file, bytes, profile);
}

function ofText(file: string, bytes: Uint8Array, profile: InstrumentProfile): ExportSource {
  const lines = linesOfText(file, bytes, profile).map(
    (text): ExportLine => ({ text: isBlank(text, profile) ? '' : text.trim(), cells: () => cellsOf(text, profile) }),
  );
  return (sheet) =>
    sheet === undefined
      ? lines
      : {
          ...{ code: 'columns', file, field: 'sheet', found: 'a text, which has no sheets' },
          ...{ expected: `a workbook (.xlsx) with the sheet ${sheet}`, remedy: 'export it so, or correct the profile' },
        };
}

async function ofWorkbook(file: string, bytes: Uint8Array, profile: InstrumentProfile): Promise<ExportSource> {
  const { form, zone } = profile.time;
  // What a workbook counts as days is a time of the clock that the profile names; of one without a zone it is no moment.
  const clock = zone === undefined ? undefined : new LoggerClock('YYYY-MM-DD HH:mm:ss.S', zone, 0);
  const sheets = await readWorkbook(file, bytes, {
    number: (value) => (profile.decimal === 'comma' ? String(value).replace('.', ',') : String(value)),
    time: (wallMs) => {
      if (Number.isNaN(new Date(wallMs).getTime())) return `${form}: no day`;
      const wall = new Date(wallMs).toISOString().slice(0, -1).replace('T', ' ');
      const us = clock?.read(wall);
      return us === undefined ? wall : new Date(us / 1000).toISOString();
    },
  });
  return (sheet) => {
    const rows = sheet === undefined ? [...sheets.values()][0] : sheets.get(sheet);
    if (rows !== undefined) return rows.map(lineOf);
    const found = `the sheets ${[...sheets.keys()].join(', ')}`;
    const remedy = 'export the sheet too, or correct the profile';
    return { code: 'columns', file, field: 'sheet', found, expected: `a sheet ${sheet ?? ''}`.trim(), remedy };
  };
}

const SERIAL = 'SerialNumber';
const TIME = 'TimeStamp';
const uncertaintyOf = (name: string) => `u(${name})`;

/**
 * The values of a QIF file as rows under a head of their own: the serial number, the time, and for each characteristic by its
 * name a column and one of its uncertainty. Each row holds one value.
 * @throws BadInputError also for a value in another unit than the profile takes it in, and for two characteristics of one name.
 */
function ofQif(file: string, bytes: Uint8Array, profile: InstrumentProfile): ExportSource {
  const results = readQif(file, bytes);
  const ucums = new Map(
    profile.tables.flatMap(({ values }) => values.map(({ column, ucum }) => [column, ucum] as const)),
  );
  const items = new Map<string, string>();
  const problems = results.values.flatMap((value): Problem[] => {
    const { name, item, line } = value;
    const ucum = ucums.get(name);
    if (ucum === undefined) return [];
    const first = items.get(name) ?? item;
    items.set(name, first);
    if (first === item) return [unitProblem(file, results.units, value, ucum) ?? []].flat();
    const found = `the characteristics ${first} and ${item} of one name`;
    const remedy = 'give them names of their own where the measurement is planned';
    return [{ code: 'qif', file, line, field: name, found, expected: 'one characteristic of each name', remedy }];
  });
  if (problems.length > 0) throw new BadInputError(problems.slice(0, MOST.problemsOfFile));
  const names = [...new Set(results.names)];
  const head = [SERIAL, TIME, ...names, ...names.map(uncertaintyOf)];
  const lines = results.values.map((one): ExportLine => {
    const said = new Map([
      ...([
        [SERIAL, one.serialNumber],
        [TIME, one.timeStamp],
      ] as const),
      ...([
        [one.name, one.value],
        [uncertaintyOf(one.name), one.combinedUncertainty],
      ] as const),
    ]);
    return { line: one.line, text: one.value, cells: () => head.map((name) => said.get(name) ?? '') };
  });
  return () => [{ text: SERIAL, cells: () => head }, ...lines];
}

/** A row of a sheet ends with the last cell that was ever filled in. */
const lineOf = (row: readonly string[]): ExportLine => ({
  text: row
    .filter((cell) => cell.trim() !== '')
    .join(' ')
    .trim(),
  cells: (columns = row.length) => {
    const trimmed = row.map((cell) => cell.trim());
    const last = trimmed.findLastIndex((cell) => cell !== '');
    return Array.from({ length: Math.max(columns, last + 1) }, (_, at) => trimmed[at] ?? '');
  },
});
