import type { Facts } from '../dossier/facts.js';
import { revisionKey } from '../dossier/facts.js';
import type { ResultRow } from '../dossier/tables.js';
import type { Coupon, Implant } from '../kinds/lot.js';
import type { Characteristic } from '../kinds/specification.js';
import type { ReworkHistory } from './reworks.js';

/**
 * The specimens whose values speak for one implant: the implant itself, or the coupons of its build that stand for it
 * and have a zone of the class asked for. Spare coupons speak only in place of another, or for what they were reworked with.
 */
export function specimensFor(facts: Facts, implant: Implant, item: Characteristic, history: ReworkHistory): string[] {
  if (item.measuredOn === 'implant') return [implant.serial];
  return couponsFor(facts, implant, item)
    .filter((coupon) => coupon.use !== 'spare' || history.isReworkedWith(coupon, implant, item.characteristic))
    .map((coupon) => coupon.coupon);
}

/** Coupons, spare ones included, that may speak for an implant in a characteristic. */
export function couponsFor(facts: Facts, implant: Implant, characteristic: Characteristic): Coupon[] {
  return facts.lot.body.coupons.filter(
    (coupon) =>
      coupon.standsFor.includes(implant.serial) &&
      coupon.build === implant.build &&
      hasZoneClass(facts, coupon, characteristic.zoneClass),
  );
}

/** Coupons, spare ones included, that may speak for an implant by the plan of a characteristic: see `specimensOfPlan`. */
export function couponsOfPlan(facts: Facts, implant: Implant, item: Characteristic): Coupon[] {
  if (item.plan === 'every-unit') return couponsFor(facts, implant, item);
  const together = facts.lot.body.implants.filter(({ build }) => build === implant.build);
  return [...new Set(together.flatMap((other) => couponsFor(facts, other, item)))];
}

/**
 * The specimens that a plan looks at for one implant. By every plan but `every-unit` the specimens of a build speak for
 * all its implants together; of implants that are tested themselves, those that were.
 */
export function specimensOfPlan(
  facts: Facts,
  implant: Implant,
  item: Characteristic,
  results: ResultIndex,
  history: ReworkHistory,
): readonly string[] {
  if (item.plan === 'every-unit') return specimensFor(facts, implant, item, history);
  const together = facts.lot.body.implants.filter((other) => other.build === implant.build);
  const found = new Set(together.flatMap((other) => specimensFor(facts, other, item, history)));
  return [...found].filter(
    (specimen) => item.measuredOn === 'coupon' || results.of(specimen, item.characteristic).length > 0,
  );
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

/** Current results by specimen and characteristic, so that nobody walks over all of them for one. */
export interface ResultIndex {
  of(specimen: string, characteristic: string): readonly NumberedResult[];
}

export function indexResults(facts: Facts): ResultIndex {
  const found = new Map<string, NumberedResult[]>();
  // A code holds no blank.
  for (const result of currentResults(facts)) {
    const key = `${result.specimen} ${result.characteristic}`;
    const known = found.get(key);
    if (known) known.push(result);
    else found.set(key, [result]);
  }
  return { of: (specimen, characteristic) => found.get(`${specimen} ${characteristic}`) ?? [] };
}
