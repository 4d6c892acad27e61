import { digestOf } from '../dossier/canonical.js';
import { revisionKey } from '../dossier/facts.js';
import type { Lot } from '../kinds/lot.js';
import { resultKey } from '../kinds/result.js';
import type { TieName } from '../kinds/ties.js';
import type { Change } from '../store/repositories.js';
import type { PlannedSheet } from './result-rules.js';

/** An entry that intake makes of what stands in a sheet. */
export interface DerivedEntry {
  readonly kind: 'result-set' | 'result';
  readonly key: string;
  readonly name: string;
  readonly body: unknown;
  readonly links: readonly DerivedLink[];
}

interface DerivedLink {
  readonly name: TieName | 'results';
  readonly to: { readonly kind: string; readonly key: string } | { readonly evidence: string };
  readonly revision?: number;
  readonly count?: number;
}

type Sheet = Pick<PlannedSheet, 'file' | 'sha256' | 'rows' | 'readBy'>;
type CurrentRow = Awaited<ReturnType<Change['results']['current']>>[number];

/** A sheet as it came: the file, and whose lot it is of. */
export function sheetEntry(lot: string, { file, sha256, rows, readBy }: Sheet): DerivedEntry {
  const specimens = distinct(rows.map((row) => row.specimen));
  return {
    kind: 'result-set',
    key: sheetKey(lot, file),
    name: `results of ${specimens.join(', ')}`,
    body: { lot, file, evidence: sha256, rows: rows.length, digest: digestOf(rows) },
    links: [
      { name: 'of lot', to: { kind: 'lot', key: lot } },
      { name: 'results', to: { evidence: sha256 } },
      ...(readBy === undefined
        ? []
        : [
            {
              name: 'results read by' as const,
              to: { kind: 'instrument-profile', key: readBy.profile },
              revision: readBy.revision,
            },
          ]),
    ],
  };
}

/**
 * The results that these sheets name, as they stand in the store: one entry for each characteristic on each specimen or
 * piece, tied to exactly what its current values rest on. After a correction the ties are those of the corrected values.
 */
export async function resultEntries(change: Change, lot: Lot, sheets: readonly Sheet[]): Promise<DerivedEntry[]> {
  if (sheets.length === 0) return [];
  const keyOf = (row: Pick<CurrentRow, 'specimen' | 'piece' | 'characteristic'>) => resultKey({ lot: lot.lot, ...row });
  const named = new Set(sheets.flatMap(({ rows }) => rows.map(keyOf)));
  const values = new Map<string, CurrentRow[]>();
  for (const row of await change.results.current(lot.lot)) {
    const key = keyOf(row);
    if (!named.has(key)) continue;
    const known = values.get(key);
    if (known) known.push(row);
    else values.set(key, [row]);
  }
  const serials = new Set(lot.implants.map(({ serial }) => serial));
  return [...values].map(([key, rows]) => resultEntry(key, lot.lot, rows, serials));
}

function resultEntry(
  key: string,
  lot: string,
  rows: readonly CurrentRow[],
  serials: ReadonlySet<string>,
): DerivedEntry {
  const { specimen, piece, characteristic } = rows[0]!;
  const tied = (name: TieName, kind: string, keyIn: (row: CurrentRow) => string): DerivedLink[] => {
    const keys = rows.map(keyIn);
    return distinct(keys).map((one) => ({
      name,
      to: { kind, key: one },
      count: keys.filter((other) => other === one).length,
    }));
  };
  const methods = new Map(rows.map((row) => [revisionKey(row.method, row.methodRevision), row]));
  const values = rows.map(({ replicate, value, ucum, evidence, line }) => [replicate, value, ucum, evidence, line]);
  const specimenText = piece === '' ? specimen : `${specimen}/${piece}`;
  return {
    kind: 'result',
    key,
    name: `${characteristic} of ${specimenText}, ${rows.length} ${rows.length === 1 ? 'value' : 'values'}`,
    body: { lot, specimen, piece, characteristic, values: rows.length, digest: digestOf(values) },
    links: [
      { name: 'measured on', to: { kind: serials.has(specimen) ? 'implant' : 'coupon', key: specimen } },
      ...tied('measured with', 'instrument', (row) => row.instrument),
      ...[...methods.values()].map(
        ({ method, methodRevision }): DerivedLink => ({
          name: 'by method',
          to: { kind: 'method', key: method },
          revision: methodRevision,
        }),
      ),
      ...tied('tested by', 'person', (row) => row.analyst),
      ...tied('values entered by', 'person', (row) => row.enteredBy),
      ...tied('values checked by', 'person', (row) => row.checkedBy),
      ...tied('on sheet', 'result-set', (row) => sheetKey(lot, row.file)),
    ],
  };
}

const sheetKey = (lot: string, file: string): string => `${lot}:${file}`;

const distinct = (values: readonly string[]): string[] => [...new Set(values)].filter((value) => value !== '').sort();
