import type { PlaceBalance } from '../../dossier/unit-places.js';
import type { Place } from '../../kinds/after-release/places.js';

/** What people call the places of units. */
const PLACES: Readonly<Record<Place, string>> = {
  planned: 'not made yet',
  'in process': 'in process',
  'in stock': 'in stock',
  rejected: 'rejected and kept apart',
  out: 'with the institution',
  implanted: 'implanted',
  explanted: 'explanted',
  'destroyed there': 'destroyed at the institution',
  lost: 'lost',
  returned: 'returned',
  'taken away unreleased': 'taken away unreleased',
  tested: 'used up by a test',
  retained: 'retained as a sample',
  scrapped: 'scrapped',
  'stock part': 'kept as stock part',
  destroyed: 'destroyed',
};

export const placeText = (place: Place): string => PLACES[place];

/** Reasons of holds that the program places by itself. */
export const PLACE_HOLDS = {
  cameBack: (document: string, why: string) => `came back, ${document}: ${why}`,
  takenAway: (document: string) => `taken away unreleased, ${document}`,
};

/** What nonconformities say that documents open. */
export const takenAwayText = (handover: string): string =>
  `Taken away unreleased. Who took it and why stands in handover ${handover}.`;
export const complainedText = (complaint: string, says: string): string => `Complaint ${complaint}: ${says}`;

/** Places of what was handed over and is told as one. */
const HANDED_OVER: readonly Place[] = ['implanted', 'out', 'explanted', 'destroyed there', 'returned'];

/** `4 made = 2 handed over (1 implanted, 1 returned) + 1 in stock + 1 scrapped; unaccounted 0`. */
export function balanceText({ made, places, unaccounted }: PlaceBalance): string {
  const says = ({ place, parts }: PlaceBalance['places'][number]) => `${parts.length} ${placeText(place)}`;
  const out = places.filter(({ place }) => HANDED_OVER.includes(place));
  const others = places.filter(({ place }) => !HANDED_OVER.includes(place));
  const outCount = out.reduce((sum, { parts }) => sum + parts.length, 0);
  const terms = [
    ...(outCount === 0 ? [] : [`${outCount} handed over (${out.map(says).join(', ')})`]),
    ...others.map(says),
  ];
  const rest = `unaccounted ${unaccounted.length}${unaccounted.length === 0 ? '' : `: ${unaccounted.join(', ')}`}`;
  return `${made} made${terms.length === 0 ? '' : ` = ${terms.join(' + ')}`}; ${rest}`;
}

/** `with the institution, on hold`. */
export const placeStateText = ({ place, held }: { readonly place: Place; readonly held: boolean }): string =>
  `${placeText(place)}${held ? ', on hold' : ''}`;

export const holderText = (holder: { readonly institution: string; readonly address: string } | null): string =>
  holder === null ? 'the cell' : `${holder.institution}, ${holder.address}`;
