/** Where a part can be, as the program derives it (docs/trace.md). A part is in exactly one place at each moment. */
export const PLACES = [
  'planned',
  'in process',
  'in stock',
  'rejected',
  'out',
  'implanted',
  'explanted',
  'destroyed there',
  'lost',
  'returned',
  'taken away unreleased',
  'tested',
  'retained',
  'scrapped',
  'stock part',
  'destroyed',
] as const;
export type Place = (typeof PLACES)[number];

/** Places of parts that are no longer with the cell, nor came back to it. */
export const AWAY = [
  'out',
  'implanted',
  'explanted',
  'destroyed there',
  'lost',
  'taken away unreleased',
] as const satisfies readonly Place[];

export const isAway = (place: Place): boolean => (AWAY as readonly Place[]).includes(place);
