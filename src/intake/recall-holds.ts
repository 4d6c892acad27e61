import { unitStatesOf } from '../lots/unit-decisions.js';
import { RECALL_HOLDS } from '../report/phrases/recall.js';
import type { Change } from '../store/repositories.js';

/** A document that was stored. */
interface Recorded {
  readonly kind: string;
  readonly key: string;
  readonly revision: number;
}

/**
 * Puts every unit on hold that a recall names for the first time, in the change that stores it. A drill holds nothing.
 */
export async function holdRecalled(change: Change, { kind, key, revision }: Recorded): Promise<void> {
  if (kind !== 'recall') return;
  const { entries } = change;
  const { body } = (await entries.revision('recall', key, revision))!;
  if (body.drill === 'yes') return;
  const before = new Set((await entries.revision('recall', key, revision - 1))?.body.expected);
  const byLot = new Map<string, string[]>();
  for (const serial of body.expected) {
    const lot = before.has(serial) ? undefined : (await entries.current('implant', serial))?.body.lot;
    if (lot !== undefined) byLot.set(lot, [...(byLot.get(lot) ?? []), serial]);
  }
  for (const [lot, serials] of [...byLot].sort(([a], [b]) => (a < b ? -1 : 1))) {
    const units = (await unitStatesOf(change, lot, serials)).flatMap(({ serial, hold }) =>
      hold === null ? [serial] : [],
    );
    if (units.length === 0) continue;
    const cause = { kind, key, revision };
    await change.events.add({ type: 'hold-placed', lot, units: units.sort(), cause }, RECALL_HOLDS.recalled(key));
  }
}
