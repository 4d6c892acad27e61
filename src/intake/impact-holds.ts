import { unitStatesOf } from '../lots/unit-decisions.js';
import { IMPACT_HOLDS } from '../report/phrases/impact.js';
import type { Change } from '../store/repositories.js';

/** A document that was stored. */
interface Recorded {
  readonly kind: string;
  readonly key: string;
  readonly revision: number;
}

/**
 * Puts units on hold of which an impact says anything but *no effect*, in the change that stores it. A later revision holds
 * only those of which it says so first; whoever lifts a hold answers for that.
 */
export async function holdTouched(change: Change, { kind, key, revision }: Recorded): Promise<void> {
  if (kind !== 'impact') return;
  const { entries } = change;
  const touched = (decisions: readonly { implant: string; as: string }[] = []) =>
    decisions.flatMap(({ implant, as }) => (as === 'no effect' ? [] : [implant]));
  const { body } = (await entries.revision('impact', key, revision))!;
  const before = new Set(touched((await entries.revision('impact', key, revision - 1))?.body.decisions));
  const byLot = new Map<string, string[]>();
  for (const serial of touched(body.decisions)) {
    const lot = before.has(serial) ? undefined : (await entries.current('implant', serial))?.body.lot;
    if (lot !== undefined) byLot.set(lot, [...(byLot.get(lot) ?? []), serial]);
  }
  for (const [lot, serials] of [...byLot].sort(([a], [b]) => (a < b ? -1 : 1))) {
    const free = (await unitStatesOf(change, lot, serials)).filter(({ hold }) => hold === null);
    if (free.length === 0) continue;
    const units = free.map(({ serial }) => serial).sort();
    const cause = { kind, key, revision };
    await change.events.add({ type: 'hold-placed', lot, units, cause }, IMPACT_HOLDS.touched(key, body.cause));
  }
}
