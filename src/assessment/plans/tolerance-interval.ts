import type { Characteristic, Plan } from '../../kinds/specification.js';
import { moments } from '../../statistics/summary.js';
import { oneSidedFactor, twoSidedFactor } from '../../statistics/tolerance.js';
import type { PlanVerdict } from '../assessment.js';
import {
  asCompared,
  IN_GUARD_BAND,
  limitsFor,
  NO_UNCERTAINTY,
  notMeasured,
  numbersOf,
  type Sample,
  stored,
  threeWay,
  undecided,
} from './sample.js';

type ToleranceInterval = Extract<Plan, { rule: 'tolerance-interval' }>;

/** Mean and standard deviation of n values. */
interface Summed {
  readonly n: number;
  readonly mean: number;
  readonly sd: number;
}

/**
 * The tolerance factor for the limits that a characteristic has: exact one-sided by the noncentral t, exact two-sided by
 * integration. Source: ISO 16269-6; `statistics/tolerance`.
 */
export function toleranceFactor(item: Characteristic, n: number, confidence: number, reliability: number): number {
  const design = { n, content: reliability, confidence, degreesOfFreedom: n - 1 };
  const both = item.lower !== undefined && item.upper !== undefined;
  return both ? twoSidedFactor(design, 'exact') : oneSidedFactor(design);
}

/** Whether mean ± k sd keeps the limits that there are. */
export function keepsLimits(
  { mean, sd }: Summed,
  k: number,
  { lower, upper }: { lower: number | undefined; upper: number | undefined },
): boolean {
  return (
    (lower === undefined || asCompared(mean - k * sd) >= lower) &&
    (upper === undefined || asCompared(mean + k * sd) <= upper)
  );
}

/** mean ± k sd must keep the limits, for a confidence C that a share R of the population lies within. Assumes normal values. */
export function toleranceInterval(plan: ToleranceInterval, sample: Sample): PlanVerdict {
  const { item, values } = sample;
  const rule = `tolerance interval, ${plan.confidence} confidence, ${plan.reliability} reliability`;
  const trouble = notMeasured(sample, 2);
  if (trouble) return undecided(rule, trouble);
  const limits = limitsFor(item, values);
  if (!limits) return undecided(rule, NO_UNCERTAINTY);
  const summed = moments(numbersOf(values));
  const k = toleranceFactor(item, summed.n, Number(plan.confidence), Number(plan.reliability));
  const verdict = threeWay(keepsLimits(summed, k, limits.accept), keepsLimits(summed, k, limits.refuse));
  const [low, high] = [summed.mean - k * summed.sd, summed.mean + k * summed.sd];
  const bounds = [
    ...(item.lower === undefined ? [] : [`lower bound ${stored(low)}`]),
    ...(item.upper === undefined ? [] : [`upper bound ${stored(high)}`]),
  ].join(', ');
  return {
    rule,
    verdict,
    says: `${bounds} ${item.ucum} from ${summed.n} values, k = ${stored(k)} (assumes normal values)${verdict === 'cannot be decided' ? `: ${IN_GUARD_BAND}` : ''}`,
    numbers: {
      n: summed.n,
      mean: stored(summed.mean),
      sd: stored(summed.sd),
      k: stored(k),
      ...(item.lower === undefined ? {} : { lowerBound: stored(low) }),
      ...(item.upper === undefined ? {} : { upperBound: stored(high) }),
    },
  };
}
