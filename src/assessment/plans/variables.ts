import type { Plan } from '../../kinds/specification.js';
import { moments } from '../../statistics/summary.js';
import { estimatedNonconforming, maximumNonconformingOf } from '../../statistics/variables-sampling.js';
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

type Variables = Extract<Plan, { rule: 'variables' }>;

/**
 * Mean and standard deviation of n values against the limits, sigma unknown. One limit: accepted when the quality index
 * is at least k. Two limits: when the estimated fractions nonconforming together are at most the M that belongs to k.
 * Assumes a normal characteristic. Source: MIL-STD-414 (1957), section B.
 */
export function variables({ n, k: constant }: Variables, sample: Sample): PlanVerdict {
  const { item, values } = sample;
  const k = Number(constant);
  const rule = 'variables';
  const trouble = notMeasured(rule, sample, n);
  if (trouble) return trouble;
  const limits = limitsFor(item, values);
  if (!limits) return undecided(rule, 'no uncertainty');
  const { mean, sd, n: found } = moments(numbersOf(values));
  const numbers = { n: found, k, mean: stored(mean), sd: stored(sd) };
  if (sd === 0) return undecided(rule, 'no spread', numbers);
  const accepted = ({ lower, upper }: typeof limits.accept): boolean => {
    const toLower = lower === undefined ? undefined : (mean - lower) / sd;
    const toUpper = upper === undefined ? undefined : (upper - mean) / sd;
    if (toLower === undefined || toUpper === undefined) return asCompared((toLower ?? toUpper)!) >= k;
    const total = estimatedNonconforming(toLower, found) + estimatedNonconforming(toUpper, found);
    return asCompared(total) <= asCompared(maximumNonconformingOf(k, found));
  };
  const verdict = threeWay(accepted(limits.accept), accepted(limits.refuse));
  return planVerdict(rule, verdict, OUTCOMES[verdict], numbers);
}
