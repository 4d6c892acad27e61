/**
 * Which implants of a lot are meant, by name or as all of them.
 * @param all how many the lot has.
 */
export function whichUnitsText(units: readonly string[], all: number): string {
  if (units.length < all || all < 2) return units.join(', ');
  return all === 2 ? 'both implants' : `all ${all} implants`;
}
