import type { Lot } from '../kinds/lot.js';
import { partsMoved, placesOfLot } from '../lots/unit-places.js';
import { PLACE_HOLDS } from '../report/phrases/places.js';
import { currentLot } from '../store/lots-now.js';
import type { Change } from '../store/repositories.js';

/** A document that was stored. */
interface Recorded {
  readonly kind: string;
  readonly key: string;
  readonly revision: number;
}

/**
 * Puts units on hold that came back, or that were taken away unreleased, in the change that stores the document that says
 * so: nobody has looked at them since. A later revision holds only what it names first. Of a lot that comes in after such a
 * document, its first revision does it.
 */
export async function holdMoved(change: Change, recorded: Recorded): Promise<void> {
  const { entries } = change;
  const { kind, key, revision } = recorded;
  if (kind === 'lot' && revision === 1) {
    await hold(change, await currentLot(change, key), () => true);
  }
  if (kind !== 'unit-return' && kind !== 'handover') return;
  const { body } = (await entries.revision(kind, key, revision))!;
  const before = (await entries.revision(kind, key, revision - 1))?.body;
  const had = new Set(before && needsHold(before) ? before.implants : []);
  const fresh = new Set(
    needsHold(body) ? partsMoved(body).flatMap((part) => (had.has(part.key) ? [] : [part.key])) : [],
  );
  const lots = new Set<string>();
  for (const serial of fresh) {
    const implant = await entries.current('implant', serial);
    if (implant) lots.add(implant.body.lot);
  }
  for (const code of [...lots].sort()) {
    if (await entries.current('lot', code))
      await hold(change, await currentLot(change, code), (serial) => fresh.has(serial));
  }
}

type Body = { readonly kind: 'unit-return' } | { readonly kind: 'handover'; readonly unreleased?: object | undefined };

const needsHold = (body: Body): boolean => body.kind === 'unit-return' || body.unreleased !== undefined;

/** Holds what a document moved so that it needs one, and that is not on hold: an event for each such document. */
async function hold(change: Change, lot: Lot, isMeant: (serial: string) => boolean): Promise<void> {
  const moved = (await placesOfLot(change, lot)).filter(
    (part) => part.kind === 'implant' && isMeant(part.key) && !part.held,
  );
  const units = new Map<string, string[]>();
  for (const { key, course } of moved) {
    const last = course.steps.findLast(({ place }) => place === 'returned' || place === 'taken away unreleased')?.by;
    if (last) units.set(`${last.kind} ${last.key}`, [...(units.get(`${last.kind} ${last.key}`) ?? []), key]);
  }
  for (const [name, serials] of units) {
    const [kind, key] = [name.slice(0, name.indexOf(' ')), name.slice(name.indexOf(' ') + 1)];
    const { body, revision } = await change.entries.currentOrThrow(kind as 'handover' | 'unit-return', key);
    await change.events.add(
      { type: 'hold-placed', lot: lot.lot, units: serials.sort(), cause: { kind, key, revision } },
      body.kind === 'handover' ? PLACE_HOLDS.takenAway(key) : PLACE_HOLDS.cameBack(key, body.why),
    );
  }
}
