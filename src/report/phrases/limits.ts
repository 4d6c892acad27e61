import type { TextLimits } from '../../assessment/limits.js';
import type { AppliedLimits } from '../../assessment/study-limits.js';
import { spacedUnit } from '../../dossier/unit-text.js';
import type { Characteristic } from '../../kinds/specification.js';

/** Limits in words: `at least 215`, `0.05 to 0.35`, `at most 100`. */
export function limitsText({ lower, upper }: TextLimits): string {
  if (lower !== undefined && upper !== undefined) return `${lower} to ${upper}`;
  return lower !== undefined ? `at least ${lower}` : `at most ${upper}`;
}

/**
 * The limits by which values are judged, and beside moved ones those of the specification and the study:
 * `at least 217.15 MPa (moved for coupons by EQ-3 rev 1 from at least 215)`.
 */
export function appliedLimitsText(item: Characteristic, sets: readonly AppliedLimits[]): string {
  const said = sets.map((set) => {
    const limits = `${limitsText(set)}${spacedUnit(item.ucum)}`;
    return set.study === undefined ? limits : `${limits} (moved for coupons by ${set.study} from ${limitsText(item)})`;
  });
  return said.join('; for other coupons ');
}
