import { AppError } from '../base/errors.js';
import { convertDifference } from '../base/units.js';
import { type Facts, revisionKey } from '../dossier/facts.js';
import type { EquivalenceStudy } from '../kinds/equivalence-study.js';
import type { Coupon } from '../kinds/lot.js';
import type { Characteristic } from '../kinds/specification.js';
import type { AppliedStudy, GapReason } from './reasons.js';

type Difference = NonNullable<EquivalenceStudy['differences']>[number];

/** Limits of a characteristic as they hold for a value of a coupon, with what the study is not sure of at each. */
export interface StudyLimits {
  readonly lower: string | undefined;
  readonly upper: string | undefined;
  /** Standard uncertainty of each limit, in the unit of the characteristic. */
  readonly lowerUncertainty: number;
  readonly upperUncertainty: number;
  readonly study: AppliedStudy;
}

/**
 * Limits for a coupon of which a study found that it reads otherwise than the implant: moved by the bias, and never
 * outwards, since a study that pleads for a wider limit is a change of the specification (docs/trade.md 5.5).
 * @param named the study that a coupon names.
 * @returns undefined where no study found a difference in the characteristic; a reason where the difference cannot be applied.
 */
export function studyLimits(
  facts: Facts,
  item: Characteristic,
  named: Coupon['study'],
): StudyLimits | GapReason | undefined {
  if (named === undefined) return undefined;
  const key = revisionKey(named.study, named.revision);
  const differences = facts.studies.get(key)?.body.differences ?? [];
  const found = differences.find(({ characteristic }) => characteristic === item.characteristic);
  if (found === undefined) return undefined;
  const { ucum } = found;
  const reads = inUnitOf(item, found);
  if (reads === undefined) return { code: 'study in another unit', facts: { study: key, ucum: ucum! } };
  const { bias, standardUncertainty } = reads;
  const moved = (limit: string) => (ucum === undefined ? Number(limit) * (1 + bias) : Number(limit) + bias);
  const uncertaintyAt = (limit: string | undefined) =>
    ucum === undefined ? standardUncertainty * Math.abs(Number(limit ?? 0)) : standardUncertainty;
  const { lower, upper } = item;
  return {
    lower: lower === undefined ? undefined : inward(lower, moved(lower), Math.max),
    upper: upper === undefined ? undefined : inward(upper, moved(upper), Math.min),
    lowerUncertainty: uncertaintyAt(lower),
    upperUncertainty: uncertaintyAt(upper),
    study: { study: key, bias: found.bias, standardUncertainty: found.standardUncertainty, ucum: found.ucum ?? '' },
  };
}

/** The stricter of a limit and the moved one, as text; twelve digits carry no noise. */
function inward(limit: string, moved: number, stricter: (a: number, b: number) => number): string {
  const exact = Number(moved.toPrecision(12));
  return stricter(exact, Number(limit)) === Number(limit) ? limit : String(exact);
}

/** Bias and its uncertainty in the unit of the characteristic; undefined for a unit of another kind. */
function inUnitOf({ ucum: wanted }: Characteristic, { bias, standardUncertainty, ucum }: Difference) {
  const inUnit = (text: string) => Number(ucum === undefined ? text : convertDifference(text, ucum, wanted));
  try {
    return { bias: inUnit(bias), standardUncertainty: inUnit(standardUncertainty) };
  } catch (error) {
    if (error instanceof AppError) return undefined;
    throw error;
  }
}
