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
  destroyed: 'destroyed',
};

export const placeText = (place: Place): string => PLACES[place];

/** Reasons of holds that the program places by itself. */
export const PLACE_HOLDS = {
  cameBack: (document: string, why: string) => `came back, ${document}: ${why}`,
  takenAway: (document: string) => `taken away unreleased, ${document}`,
};
