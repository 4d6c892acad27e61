import type { AssessedLot } from '../lots/lot-assessor.js';

/** The lot behind a thing, as it was assessed last; undefined where it was not. */
export type LatestLot = (lot: string) => Promise<AssessedLot | undefined>;

/** Asks once for each lot. */
export function once(latest: LatestLot): LatestLot {
  const lots = new Map<string, ReturnType<LatestLot>>();
  return (lot) => {
    const known = lots.get(lot) ?? latest(lot);
    lots.set(lot, known);
    return known;
  };
}
