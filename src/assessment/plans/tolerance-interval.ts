import type { Characteristic, Plan } from '../../kinds/specification.js';
import { moments } from '../../statistics/summary.js';
import { oneSidedFactor, twoSidedFactor } from '../../statistics/tolerance.js';
import type { PlanVerdict } from '../assessment.js';
import {
  asCompared,
  limitsFor,
  notMeasured,
  numbersOf,
  OUTCOMES,
  planVerdict,
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
  const rule = 'tolerance-interval';
  const trouble = notMeasured(rule, sample, 2);
  if (trouble) return trouble;
  const limits = limitsFor(item, values);
  if (!limits) return undecided(rule, 'no uncertainty');
  const summed = moments(numbersOf(values));
  const k = toleranceFactor(item, summed.n, Number(plan.confidence), Number(plan.reliability));
  const verdict = threeWay(keepsLimits(summed, k, limits.accept), keepsLimits(summed, k, limits.refuse));
  return planVerdict(rule, verdict, OUTCOMES[verdict], {
    n: summed.n,
    mean: stored(summed.mean),
    sd: stored(summed.sd),
    k: stored(k),
    ...(item.lower === undefined ? {} : { lowerBound: stored(summed.mean - k * summed.sd) }),
    ...(item.upper === undefined ? {} : { upperBound: stored(summed.mean + k * summed.sd) }),
  });
}
