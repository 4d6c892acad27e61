import type { Facts } from '../dossier/facts.js';
import { revisionKey } from '../dossier/facts.js';
import type { ResultRow } from '../dossier/tables.js';
import type { Coupon, Implant } from '../kinds/lot.js';
import type { Characteristic } from '../kinds/specification.js';

/**
 * The specimens whose values speak for one implant: the implant itself, or the coupons of its build that stand for it
 * and have a zone of the class asked for.
 */
export function specimensFor(facts: Facts, implant: Implant, characteristic: Characteristic): string[] {
  if (characteristic.measuredOn === 'implant') return [implant.serial];
  return facts.lot.body.coupons
    .filter(
      (coupon) =>
        coupon.standsFor.includes(implant.serial) &&
        coupon.build === implant.build &&
        hasZoneClass(facts, coupon, characteristic.zoneClass),
    )
    .map((coupon) => coupon.coupon);
}

function hasZoneClass(facts: Facts, part: Implant | Coupon, zoneClass: string | undefined): boolean {
  if (zoneClass === undefined) return true;
  const recipe = facts.recipes.get(revisionKey(part.recipe.recipe, part.recipe.revision))!.body;
  return part.zones.some((built) => recipe.zones.find((zone) => zone.zone === built.recipeZone)?.class === zoneClass);
}

/** Implants whose verdict rests on a specimen. */
export function unitsOfSpecimen(facts: Facts, specimen: string): string[] {
  const coupon = facts.lot.body.coupons.find((item) => item.coupon === specimen);
  return coupon ? [...coupon.standsFor] : [specimen];
}

/** A result with its place in the results table, counted from 1. */
export interface NumberedResult extends ResultRow {
  readonly row: number;
}

/** Results that count, with their row numbers: corrected ones stay in the table but are judged no more. */
export function currentResults(facts: Facts): NumberedResult[] {
  return facts.results
    .map((result, index) => ({ ...result, row: index + 1 }))
    .filter((item) => item.status === 'current');
}
