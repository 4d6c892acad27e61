import { NotFoundError } from '../base/errors.js';
import { changeTouches, type TouchedLot } from '../design-history/change-touches.js';
import type { DesignFacts, DesignRevision } from '../design-history/design-facts.js';
import { DesignIndex } from '../design-history/design-index.js';
import { isAway } from '../kinds/after-release/places.js';
import type { DesignChange, TouchedLine } from '../kinds/design-history/design-change.js';
import type { Lot } from '../kinds/lot.js';
import { placesOfImplantsIn } from '../lots/unit-places.js';
import { CHANGE_LINES } from '../report/phrases/design-changes.js';
import { currentLot } from '../store/lots-now.js';
import type { Reads } from '../store/repositories.js';

/** A change, and what it touches now. */
export interface Touched {
  readonly found: DesignRevision<'design-change'>;
  readonly lines: readonly TouchedLine[];
}

/** @param facts of the design as it stands now. @throws NotFoundError without such a change in it. */
export async function touchedBy(read: Reads, facts: DesignFacts, change: string): Promise<Touched> {
  const design = new DesignIndex(facts);
  const found = design.current('design-change').find(({ key }) => key === change);
  if (found === undefined) throw new NotFoundError('design-change', change);
  const lots = await touchedLots(read, facts.family, found.body);
  return { found, lines: changeTouches(design, found.body, lots, CHANGE_LINES) };
}

/** Lots that were made by a revision that the change does away with. */
async function touchedLots(read: Reads, family: string, { changes }: DesignChange): Promise<TouchedLot[]> {
  const found: TouchedLot[] = [];
  for (const { key } of await read.entries.tiedTo('lot', 'family', family, 'of family')) {
    const now = await currentLot(read, key);
    if (!changes.some((changed) => isMadeBy(now, changed))) continue;
    const places = await placesOfImplantsIn(read, now);
    const counts = new Map<string, number>();
    for (const { place, held } of places) {
      const says = CHANGE_LINES.place(place, held);
      counts.set(says, (counts.get(says) ?? 0) + 1);
    }
    const away = places.filter(({ place }) => isAway(place));
    found.push({
      lot: key,
      places: CHANGE_LINES.places([...counts]),
      holders: [...new Set(away.flatMap(({ holder }) => (holder === null ? [] : [holder.institution])))],
    });
  }
  return found.sort((a, b) => (a.lot < b.lot ? -1 : 1));
}

/** By specification and recipe it says so itself; of any other document, whatever was made may rest on it. */
function isMadeBy(lot: Lot, { kind, key, revision }: DesignChange['changes'][number]): boolean {
  const { specification, implants, coupons } = lot;
  if (kind === 'specification') return specification.specification === key && specification.revision === revision;
  if (kind !== 'recipe') return true;
  return [...implants, ...coupons].some(({ recipe }) => recipe.recipe === key && recipe.revision === revision);
}
