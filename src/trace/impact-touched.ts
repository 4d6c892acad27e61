import type { Facts } from '../dossier/facts.js';
import { comesFromOneOf, isNamedByResults, layWithin, mayRestOn } from '../dossier/impact-results.js';
import type { ResultRow } from '../dossier/tables.js';
import type { ShapeScan } from '../kinds/lot-after-build.js';
import { resultKey } from '../kinds/result.js';
import type { TieName } from '../kinds/ties.js';
import { keptUnder } from '../store/lots-now.js';
import type { Store } from '../store/store.js';
import { farOf, narrowed, type Reach } from '../store/traces.js';
import type { Cause } from './impact-cause.js';
import type { ImpactInterval } from './impact-interval.js';
import { isWithin, whenUsed } from './when-used.js';

/** What rests on something that was off, as it was used in a time. */
export interface Touched {
  readonly reach: Reach;
  /** In order. */
  readonly lots: readonly string[];
  /** Entries of results that were reached, with their revisions. */
  readonly results: ReadonlyMap<string, number>;
  /** Whether a current result of these facts rests on it. */
  isTouched(facts: Facts, row: ResultRow): boolean;
  /** Whether it is the scanner of a scan in that time. */
  isScannedWith(scan: ShapeScan): boolean;
  /** Implants and coupons that were made with it, and not only measured or spoken for. */
  isMadeWith(part: string): boolean;
}

/** Ties that lead from a measurement to its specimen, and on to what it speaks for. */
const BY_MEASURING: ReadonlySet<string> = new Set(['measured on', 'stands for'] satisfies TieName[]);
const OF_LOT = 'of lot' satisfies TieName;

/**
 * Everything that something led to within a time. A result rests on it that names it or comes from an exposure that does;
 * of what no result names, as powder or a load, each result on a specimen that was made with it.
 */
export async function touchedBy({ read }: Store, cause: Cause, interval: ImpactInterval): Promise<Touched> {
  const { id, kind, key, only } = cause;
  const asked = id === undefined ? [] : [id];
  const whole = await read.trace.reach(asked, 'forward');
  const used = await whenUsed(read, whole);
  const [first, last] = [Date.parse(interval.from), Date.parse(interval.to)];
  const keeps = {
    use: (entry: { readonly id: number }) => isWithin(used.get(entry.id), first, last),
    tie: ({ target, revision }: { readonly target: number; readonly revision: number | null }) =>
      only === undefined || target !== id || revision === null || revision === only,
  };
  const reach = narrowed(whole, asked, 'forward', keeps);
  const made = narrowed(whole, asked, 'forward', {
    ...keeps,
    tie: (tie) => keeps.tie(tie) && !BY_MEASURING.has(tie.name),
  });
  const keysOf = ({ entries }: Reach, ...kinds: string[]) =>
    new Set(entries.filter((entry) => kinds.includes(entry.kind)).map((entry) => entry.key));
  const results = new Map(
    reach.entries.flatMap((entry) => (entry.kind === 'result' ? [[entry.key, entry.revision] as const] : [])),
  );
  const exposures = keysOf(reach, 'exposure');
  const parts = keysOf(made, 'implant', 'coupon');
  const found = { kind, key, revision: only, from: interval.from, to: interval.to };
  const isNamed = isNamedByResults(kind);
  return {
    ...{ reach, results, lots: lotsIn(reach) },
    isMadeWith: (part) => parts.has(part),
    isScannedWith: ({ instrument, at }) =>
      kind === 'instrument' && instrument === key && layWithin({ from: at }, interval),
    isTouched(facts, row) {
      const isReached = keptUnder(facts.lot.body).some((lot) => results.has(resultKey({ ...row, lot })));
      if (isNamed ? isReached && mayRestOn(row, found) : isReached || parts.has(row.specimen)) return true;
      return comesFromOneOf(exposures, row, facts.specification.body);
    },
  };
}

/** Of the parts and results that were reached: a lot that only somebody opened holds none. */
function lotsIn({ entries, ties }: Reach): string[] {
  const byId = new Map(entries.map((entry) => [entry.id, entry]));
  const ofParts = ties.flatMap((tie) => {
    const near = byId.get(tie.near)!.kind;
    return tie.name === OF_LOT && (near === 'implant' || near === 'coupon') ? [byId.get(farOf(tie))!.key] : [];
  });
  const ofResults = entries.flatMap(({ kind, key }) => (kind === 'result' ? [key.slice(0, key.indexOf(':'))] : []));
  return [...new Set([...ofParts, ...ofResults])].sort();
}
