import { placeOf } from '../base/decimal.js';
import { type Reported, readReported } from '../dossier/reported-value.js';
import type { Characteristic } from '../kinds/specification.js';
import { guardBand } from '../statistics/decision-rules.js';
import { type Verdict, worstVerdict } from './assessment.js';
import { asCompared, compareWithLimits, type Rounding, type TextLimits } from './limits.js';
import type { ValueReason } from './reasons.js';
import type { StudyLimits } from './study-limits.js';

/** What a value that was compared with its limits comes to. */
const because = (
  code: Exclude<
    ValueReason['code'],
    | 'only a bound'
    | 'missing'
    | 'invalid test'
    | 'before rework'
    | 'after rework'
    | 'other method'
    | 'study in another unit'
    | 'incomplete'
    | 'bound in a mean'
  >,
): ValueReason => ({ code, facts: {} });

/** Limits moved inwards (accept) and outwards (refuse) by the guard band. */
export interface GuardedLimits {
  readonly acceptFrom: string | undefined;
  readonly acceptTo: string | undefined;
  readonly refuseBelow: string | undefined;
  readonly refuseAbove: string | undefined;
}

/** Twelve digits are what a sum of a reported value and a guard band can carry without noise. */
const shift = (limit: string | undefined, by: number): string | undefined =>
  limit === undefined ? undefined : String(Number((Number(limit) + by).toPrecision(12)));

/** Limits with what is not known of each: a study that moved them is not sure of it. */
export type UncertainLimits = TextLimits & Partial<Pick<StudyLimits, 'lowerUncertainty' | 'upperUncertainty'>>;

/**
 * Guard band g = z·u, one-sided at the given confidence (ISO 14253-1, JCGM 106; constants from memory). The uncertainty of a
 * limit and that of the value are independent: u² is the sum of both squares.
 */
export function guardedLimits(
  { lower, upper, lowerUncertainty = 0, upperUncertainty = 0 }: UncertainLimits,
  confidence: number,
  standardUncertainty: number,
): GuardedLimits {
  const guard = (ofLimit: number) =>
    guardBand(Math.sqrt(standardUncertainty * standardUncertainty + ofLimit * ofLimit), confidence);
  const [low, high] = [guard(lowerUncertainty), guard(upperUncertainty)];
  return {
    acceptFrom: shift(lower, low),
    acceptTo: shift(upper, -high),
    refuseBelow: shift(lower, -low),
    refuseAbove: shift(upper, high),
  };
}

export interface Judgement {
  readonly verdict: Verdict;
  readonly why: ValueReason;
  readonly compared: string;
}

/**
 * Verdict of one value by the decision rule of its characteristic, with the reason.
 * @param limits those that hold for the specimen, where a study moved them.
 */
export function judgeValue(
  item: Characteristic,
  value: string,
  standardUncertainty: string,
  limits: UncertainLimits = item,
): Judgement {
  const reported = readReported(value);
  const compared = comparedText(item, reported);
  if (item.decision.rule === 'simple') {
    const verdict = compareShifted(reported, item, limits);
    return { verdict, compared, why: reasonSimple(verdict, reported) };
  }
  if (standardUncertainty === '') {
    return { verdict: 'cannot be decided', compared, why: because('no uncertainty') };
  }
  const zone = guardedLimits(limits, Number(item.decision.confidence), Number(standardUncertainty));
  const outside = compareShifted(reported, item, { lower: zone.refuseBelow, upper: zone.refuseAbove });
  const inside = compareShifted(reported, item, { lower: zone.acceptFrom, upper: zone.acceptTo });
  if (inside === 'conforms') {
    return { verdict: 'conforms', compared, why: because('inside by more than the guard band') };
  }
  if (outside === 'does not conform') {
    return { verdict: 'does not conform', compared, why: because('outside by more than the guard band') };
  }
  return { verdict: 'cannot be decided', compared, why: because('within the guard band') };
}

/** A shifted limit has more places than the limit: the value is rounded to those of the limit, as the rule says. */
function compareShifted(reported: Reported, item: Characteristic, shifted: TextLimits): Verdict {
  const { lower, upper, rounding } = item;
  const roundedTo = (limit: string): Rounding =>
    rounding.rule === 'absolute' ? rounding : { rule: 'rounding', place: rounding.place ?? placeOf(limit) };
  return worstVerdict([
    ...(lower === undefined ? [] : [compareWithLimits(reported, { lower: shifted.lower }, roundedTo(lower))]),
    ...(upper === undefined ? [] : [compareWithLimits(reported, { upper: shifted.upper }, roundedTo(upper))]),
  ]);
}

function comparedText(item: Characteristic, reported: Reported): string {
  const limit = item.lower ?? item.upper!;
  return `${reported.qualifier}${asCompared(reported.number, limit, item.rounding)}`;
}

function reasonSimple(verdict: Verdict, reported: Reported): ValueReason {
  if (verdict === 'conforms') return because('inside');
  if (verdict === 'does not conform') return because('outside');
  return { code: 'only a bound', facts: { value: `${reported.qualifier}${reported.number}` } };
}
