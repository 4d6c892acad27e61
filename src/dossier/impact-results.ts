import { digestOf } from './canonical.js';
import type { ResultRow } from './tables.js';

/** Results that somebody looked at because something was found off: which those are, for later. */

/** What of a result was looked at. Another value, another moment or another instrument makes it another result. */
const looked = ({ specimen, piece, characteristic, replicate, ...row }: ResultRow): readonly string[] => [
  ...[specimen, piece, characteristic, replicate, row.instrument, row.measuredAt],
  ...[row.reportedValue, row.reportedUcum, row.evidence, row.line],
];

/** SHA-256 of the canonical JSON of the results of one lot, in whatever order they are given. */
export const digestOfResults = (rows: readonly ResultRow[]): string =>
  digestOf(rows.map((row) => JSON.stringify(looked(row))).sort());

/** What was found off, and from when to when it was used; a document may be meant in one revision. */
export interface FoundOff {
  readonly kind: string;
  readonly key: string;
  readonly revision?: number | undefined;
  readonly from: string;
  readonly to: string;
}

/** Whether a result names what was found off, or cannot by itself tell, and was measured in that time. */
export function mayRestOn(row: ResultRow, { kind, key, revision, from, to }: FoundOff): boolean {
  const at = Date.parse(row.measuredAt);
  if (at < Date.parse(from) || at > Date.parse(to)) return false;
  if (kind === 'instrument') return row.instrument === key;
  if (kind === 'person') return [row.analyst, row.enteredBy, row.checkedBy].includes(key);
  if (kind !== 'method') return true;
  return row.method === key && (revision === undefined || Number(row.methodRevision) === revision);
}

/** Current results that an instrument measured from one moment to another, both included. */
export const measuredBetween = (
  rows: readonly ResultRow[],
  instrument: string,
  from: string,
  to: string,
): readonly ResultRow[] =>
  rows.filter(
    (row) =>
      row.status === 'current' &&
      row.instrument === instrument &&
      Date.parse(row.measuredAt) >= Date.parse(from) &&
      Date.parse(row.measuredAt) <= Date.parse(to),
  );
