import { AppError } from '../base/errors.js';
import { convertDifference } from '../base/units.js';
import { type Facts, revisionKey } from '../dossier/facts.js';
import type { EquivalenceStudy } from '../kinds/equivalence-study.js';
import type { Coupon } from '../kinds/lot.js';
import type { Characteristic } from '../kinds/specification.js';
import type { TextLimits } from './limits.js';
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

/** Limits by which values of a lot are judged; of moved ones also the study, by key and revision. */
export interface AppliedLimits extends TextLimits {
  readonly study: string | undefined;
}

/**
 * Every set of limits by which a characteristic is judged in a lot, each once: those of the specification, and for coupons
 * those that a study moved.
 * @param isMeant of the coupons, by the implants that they stand for.
 */
export function appliedLimits(
  facts: Facts,
  item: Characteristic,
  isMeant: (coupon: Coupon) => boolean = () => true,
): AppliedLimits[] {
  const specified = { lower: item.lower, upper: item.upper, study: undefined };
  const coupons = item.measuredOn === 'coupon' ? facts.lot.body.coupons.filter(isMeant) : [];
  const sets = coupons.map(({ study }): AppliedLimits => {
    const found = studyLimits(facts, item, study);
    if (found === undefined || 'code' in found) return specified;
    const { lower, upper } = found;
    return lower === item.lower && upper === item.upper ? specified : { lower, upper, study: found.study.study };
  });
  const known = new Map(sets.map((set) => [`${set.lower} ${set.upper} ${set.study}`, set]));
  return known.size === 0 ? [specified] : [...known.values()];
}

/** The strictest of several sets on each side. */
export function strictestOf(
  item: Characteristic,
  sets: readonly TextLimits[],
): Pick<Characteristic, 'lower' | 'upper'> {
  const strictest = (side: 'lower' | 'upper', isStricter: (a: string, b: string) => boolean) =>
    sets.reduce<string | undefined>((known, { [side]: limit }) => {
      return limit !== undefined && known !== undefined && isStricter(limit, known) ? limit : known;
    }, item[side]);
  return {
    lower: strictest('lower', (a, b) => Number(a) > Number(b)),
    upper: strictest('upper', (a, b) => Number(a) < Number(b)),
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
