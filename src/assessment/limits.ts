import { compareDecimal, placeOf, roundDecimal } from '../base/decimal.js';
import type { Reported } from '../dossier/reported-value.js';
import type { Verdict } from './assessment.js';

export interface TextLimits {
  readonly lower?: string | undefined;
  readonly upper?: string | undefined;
}

export type Rounding =
  | { readonly rule: 'absolute' }
  | { readonly rule: 'rounding'; readonly place?: string | undefined };

/**
 * The value as it is compared with one limit. ASTM E29 (from memory): the absolute method compares as reported, the
 * rounding method first rounds to the last place of the limit, ties to even.
 */
export function asCompared(number: string, limit: string, rounding: Rounding): string {
  if (rounding.rule === 'absolute') return number;
  return roundDecimal(number, rounding.place ?? placeOf(limit), 'half-even');
}

/**
 * Compares a reported value with limits, both inclusive, on decimal text: binary numbers would break ties wrongly.
 * A value reported as below or above a bound conforms only when everything it can be lies within the limits, does not
 * conform only when nothing of it does, and otherwise cannot be decided.
 */
export function compareWithLimits(
  value: Reported,
  limits: TextLimits,
  rounding: Rounding = { rule: 'absolute' },
): Verdict {
  const { lower, upper } = limits;
  const against = (limit: string) => compareDecimal(asCompared(value.number, limit, rounding), limit);
  const strict = value.qualifier === '<' || value.qualifier === '>';

  if (value.qualifier === '') {
    const below = lower !== undefined && against(lower) < 0;
    const above = upper !== undefined && against(upper) > 0;
    return below || above ? 'does not conform' : 'conforms';
  }
  const censoredBelow = value.qualifier === '<' || value.qualifier === '≤';
  const near = censoredBelow ? lower : upper;
  const far = censoredBelow ? upper : lower;
  const outward = censoredBelow ? 1 : -1;
  // `near` is the limit on the side to which the value may run on without end.
  if (near !== undefined) {
    const position = against(near) * outward;
    return position < 0 || (position === 0 && strict) ? 'does not conform' : 'cannot be decided';
  }
  return far === undefined || against(far) * outward <= 0 ? 'conforms' : 'cannot be decided';
}
