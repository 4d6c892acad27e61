import { type EquivalenceStudy, equivalenceStudy } from '../kinds/equivalence-study.js';
import { readBody } from '../kinds/formats.js';
import type { ExposedLot } from './design-facts.js';
import type { DesignIndex } from './design-index.js';

/** A part that was exposed, with the lot that it is of. */
export interface ExposedPart {
  readonly lot: string;
  readonly part: ExposedLot['parts'][number] | undefined;
}

/**
 * Whether a coupon speaks for a class of zones in a characteristic: what the check coupons-planned asks of the study of a coupon,
 * and that it is of the family of the lot. No implant is named here, so that only the place of the coupon itself is asked for.
 */
export function couponSpeaks(
  design: DesignIndex,
  { lot, part }: ExposedPart,
  zoneClass: string,
  characteristic: string,
): boolean {
  const { study: named, made } = part ?? {};
  if (!named || !made) return false;
  const found = design.revision({ kind: 'equivalence-study', key: named.study, revision: named.revision });
  if (found === undefined || found.withdrawn || found.approvedBy === null) return false;
  const study = readBody(equivalenceStudy, found.body, () => {});
  return (
    study.family === design.facts.lots.get(lot)?.family &&
    study.machine === made.machine &&
    made.recipeGroup !== null &&
    study.recipeGroups.includes(made.recipeGroup) &&
    study.zoneClasses.includes(zoneClass) &&
    study.characteristics.includes(characteristic) &&
    isValidAt(study, made.closedAt) &&
    isAmong(study.positions, made.position) &&
    isAmong(study.orientations, made.orientation)
  );
}

function isValidAt({ validFrom, validUntil }: EquivalenceStudy, closedAt: string | null): boolean {
  if (closedAt === null || Date.parse(closedAt) < Date.parse(validFrom)) return false;
  return validUntil === undefined || Date.parse(closedAt) <= Date.parse(validUntil);
}

/** A study that names none compared all of them. */
const isAmong = (compared: readonly string[], is: string | null): boolean =>
  compared.length === 0 || (is !== null && compared.includes(is));
