import type { Exposure } from '../kinds/degradation/exposure.js';
import { exposureKey } from '../kinds/degradation/exposure-document.js';
import type { Specification } from '../kinds/specification.js';
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

/** What of a result says on what it rests. */
type RestingRow = Pick<
  ResultRow,
  'measuredAt' | 'instrument' | 'analyst' | 'enteredBy' | 'checkedBy' | 'method' | 'methodRevision'
>;

/** What a result names by itself, with the time at which it used it. */
const NAMED_BY_RESULTS = ['instrument', 'person', 'method'];

/** Whether results themselves say that they rest on something of this kind. */
export const isNamedByResults = (kind: string): boolean => NAMED_BY_RESULTS.includes(kind);

/**
 * The one rule of whether something found off touches a result of a lot that it touches: the result names it, and was measured
 * in that time; or no result can tell, since the time is that of a build or a load, and tests come weeks after it.
 */
export function mayRestOn(row: RestingRow, { kind, key, revision, from, to }: FoundOff): boolean {
  if (!isNamedByResults(kind)) return true;
  const at = Date.parse(row.measuredAt);
  if (at < Date.parse(from) || at > Date.parse(to)) return false;
  if (kind === 'instrument') return row.instrument === key;
  if (kind === 'person') return [row.analyst, row.enteredBy, row.checkedBy].includes(key);
  return row.method === key && (revision === undefined || Number(row.methodRevision) === revision);
}

/**
 * The one rule of whether a result was computed from one of some exposures: a result names the first instrument of its exposure
 * alone, and no medium.
 * @param exposures their keys.
 */
export const comesFromOneOf = (
  exposures: { has(key: string): boolean },
  { specimen, piece, replicate, characteristic }: ResultRow,
  { characteristics }: Pick<Specification, 'characteristics'>,
): boolean =>
  exposures.has(exposureKey({ specimen, ...(piece === '' ? {} : { piece }), exposure: replicate })) &&
  characteristics.some((one) => one.characteristic === characteristic && one.source === 'exposure');

/** Whether a part of an exposure lies in a time: it was weighed at both its ends. */
export const layWithin = (
  { from, to = from }: Pick<Exposure, 'from' | 'to'>,
  time: Pick<FoundOff, 'from' | 'to'>,
): boolean => Date.parse(to) >= Date.parse(time.from) && Date.parse(from) <= Date.parse(time.to);

/** Current results that it touches. */
export const restingOn = (rows: readonly ResultRow[], found: FoundOff): readonly ResultRow[] =>
  rows.filter((row) => row.status === 'current' && mayRestOn(row, found));
