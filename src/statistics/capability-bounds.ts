import { CalculationError } from '../base/errors.js';
import { chiSquareQuantile, normalQuantile } from './distributions.js';
import { requireFinite, requirePositive, requireProbability } from './guards.js';
import { requireComputableConfidence, requireSampleSize } from './inputs.js';
import { noncentralityOf } from './noncentral-t.js';

/** A larger index means that spread and limits are not in one unit. */
const LARGEST_INDEX = 1e6;

/**
 * Exact one-sided lower confidence bound of a one-sided index (Ppu or Ppl) of a normal characteristic: the C with
 * P(T(n − 1, 3√n C) ≤ 3√n Ĉ) = confidence. For a two-sided Ppk, the smaller of two such estimates, it is conservative.
 * Takes any estimate, negative ones too.
 * Source: Chou, Owen and Borrego, J. Quality Technology 22 (1990); Kushler and Hurley, ibid. 24 (1992).
 * @throws CalculationError for an estimate or n beyond reason, or a confidence within 1e-12 of 0 or 1.
 */
export function exactLowerBound(estimate: number, n: number, confidence: number): number {
  requireSampleSize(n);
  return lowerBoundOf(estimate, { effectiveValues: n, degreesOfFreedom: n - 1 }, confidence);
}

/**
 * The C with P(T(f, 3√n C) ≤ 3√n Ĉ) = confidence, for a mean that n independent values would tell as well, and a standard
 * deviation of f degrees of freedom; neither has to be whole.
 * @throws CalculationError for an estimate beyond reason, or a confidence within 1e-12 of 0 or 1.
 */
export function lowerBoundOf(
  estimate: number,
  { effectiveValues, degreesOfFreedom }: { readonly effectiveValues: number; readonly degreesOfFreedom: number },
  confidence: number,
): number {
  requireFinite(estimate, 'estimate');
  if (Math.abs(estimate) > LARGEST_INDEX) {
    throw new CalculationError('estimate', `an index of ${estimate} is beyond reason: look at the unit of the spread`);
  }
  requireComputableConfidence(confidence);
  const scale = 3 * Math.sqrt(effectiveValues);
  return noncentralityOf(confidence, scale * estimate, degreesOfFreedom) / scale;
}

/**
 * Bissell's approximation of the same bound: Ĉ − z √(1/(9n) + Ĉ²/(2(n − 1))). It lies above the exact bound at the
 * sample sizes and confidences in use, so it promises more than the data hold.
 * Source: Bissell, Applied Statistics 39 (1990).
 */
export function bissellLowerBound(estimate: number, n: number, confidence: number): number {
  requireFinite(estimate, 'estimate');
  requireSampleSize(n);
  requireProbability(confidence, 'confidence');
  return estimate - normalQuantile(confidence) * Math.sqrt(1 / (9 * n) + (estimate * estimate) / (2 * (n - 1)));
}

/**
 * Exact two-sided confidence interval of Pp of a normal characteristic: P̂p √(χ²/(n − 1)) at both equal tails.
 * Source: Montgomery, Introduction to Statistical Quality Control, chapter on process capability.
 */
export function ppInterval(estimate: number, n: number, confidence: number): { lower: number; upper: number } {
  requirePositive(estimate, 'estimate');
  requireSampleSize(n);
  requireProbability(confidence, 'confidence');
  const tail = (1 - confidence) / 2;
  return {
    lower: estimate * Math.sqrt(chiSquareQuantile(tail, n - 1) / (n - 1)),
    upper: estimate * Math.sqrt(chiSquareQuantile(1 - tail, n - 1) / (n - 1)),
  };
}

/** Exact one-sided lower confidence bound of Pp: P̂p √(χ²(1 − confidence; n − 1)/(n − 1)). */
export function ppLowerBound(estimate: number, n: number, confidence: number): number {
  requirePositive(estimate, 'estimate');
  requireSampleSize(n);
  requireProbability(confidence, 'confidence');
  return estimate * Math.sqrt(chiSquareQuantile(1 - confidence, n - 1) / (n - 1));
}
