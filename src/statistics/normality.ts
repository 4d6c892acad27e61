import { CalculationError } from '../base/errors.js';
import { normalQuantile, normalUpper } from './distributions.js';
import { requireValues } from './guards.js';
import { requireSpread } from './inputs.js';
import { logNormalCdf } from './log-tails.js';
import { CompensatedSum, moments } from './summary.js';

export interface AndersonDarling {
  /** A², mean and standard deviation (n − 1) estimated from the values. */
  readonly statistic: number;
  /** A²(1 + 0.75/n + 2.25/n²). */
  readonly adjusted: number;
  readonly p: number;
}

/** Beyond this the fitted formula of p turns upwards; p is then far below anything that matters. */
const LARGEST_ADJUSTED = 10;

/** A² = −n − (1/n) Σ (2i − 1)(ln F(x_i) + ln(1 − F(x_{n+1−i}))) for values in ascending order. */
export function andersonDarlingStatistic(
  ascending: ArrayLike<number>,
  logBelow: (x: number) => number,
  logAbove: (x: number) => number,
): number {
  const n = ascending.length;
  const sum = new CompensatedSum();
  for (let i = 0; i < n; i++) sum.add((2 * i + 1) * (logBelow(ascending[i]!) + logAbove(ascending[n - 1 - i]!)));
  return -n - sum.total / n;
}

/**
 * Anderson–Darling test of normality, mean and standard deviation (divisor n − 1) estimated.
 * The p-value is the piecewise formula of D'Agostino and Stephens, Goodness-of-Fit Techniques (1986), table 4.9, case 3;
 * it is meant for 8 values and more.
 * @throws CalculationError below three values, for a value that is not finite, or when the values do not differ.
 */
export function andersonDarling(values: readonly number[]): AndersonDarling {
  requireValues(values, 3, 'values');
  const { n, mean, sd } = moments(values);
  requireSpread(sd, 'values');
  const z = Float64Array.from(values, (value) => (value - mean) / sd).sort();
  const statistic = andersonDarlingStatistic(z, logNormalCdf, (x) => logNormalCdf(-x));
  const adjusted = statistic * (1 + 0.75 / n + 2.25 / (n * n));
  return { statistic, adjusted, p: andersonDarlingP(Math.min(adjusted, LARGEST_ADJUSTED)) };
}

function andersonDarlingP(a: number): number {
  if (a < 0.2) return 1 - Math.exp(-13.436 + 101.14 * a - 223.73 * a * a);
  if (a < 0.34) return 1 - Math.exp(-8.318 + 42.796 * a - 59.938 * a * a);
  if (a < 0.6) return Math.exp(0.9177 - 4.279 * a - 1.38 * a * a);
  return Math.exp(1.2937 - 5.709 * a + 0.0186 * a * a);
}

export interface ShapiroWilk {
  readonly w: number;
  readonly p: number;
}

/** Sizes for which algorithm AS R94 was made. */
export const SHAPIRO_WILK_SIZES = { smallest: 3, largest: 5000 } as const;

/**
 * Shapiro–Wilk test of normality for 3 to 5000 values.
 * Source: Royston, Applied Statistics 44 (1995) 547–551, algorithm AS R94, complete samples.
 * @throws CalculationError outside 3 to 5000 values, for a value that is not finite, or when the values do not differ.
 */
export function shapiroWilk(values: readonly number[]): ShapiroWilk {
  requireValues(values, SHAPIRO_WILK_SIZES.smallest, 'values');
  if (values.length > SHAPIRO_WILK_SIZES.largest) {
    throw new CalculationError('values', `found ${values.length} values, algorithm AS R94 takes 5000 at most`);
  }
  const { n, mean, sumSquares } = moments(values);
  requireSpread(sumSquares, 'values');
  const deviations = Float64Array.from(values, (value) => value - mean).sort();
  const weights = shapiroWilkWeights(n);
  const slope = new CompensatedSum();
  weights.forEach((weight, i) => {
    slope.add(weight * (deviations[n - 1 - i]! - deviations[i]!));
  });
  const weightSquares = 2 * weights.reduce((sum, weight) => sum + weight * weight, 0);
  // 1 − W as a product, so that W near 1 keeps its digits.
  const root = Math.sqrt(weightSquares * sumSquares);
  const missing = Math.max(0, ((root - slope.total) * (root + slope.total)) / (weightSquares * sumSquares));
  return { w: 1 - missing, p: shapiroWilkP(missing, n) };
}

/** The weights of the larger half of the sample, from the largest value inwards. */
function shapiroWilkWeights(n: number): readonly number[] {
  if (n === 3) return [Math.SQRT1_2];
  const scores = Array.from({ length: n >> 1 }, (_, i) => -normalQuantile((i + 1 - 0.375) / (n + 0.25)));
  const scoreSquares = 2 * scores.reduce((sum, score) => sum + score * score, 0);
  const inverseRoot = 1 / Math.sqrt(n);
  const corrections = [[0, 0.221157, -0.147981, -2.07119, 4.434685, -2.706056]];
  if (n > 5) corrections.push([0, 0.042981, -0.293762, -1.752461, 5.682633, -3.582633]);
  const corrected = corrections.map((coefficients, i) => {
    return scores[i]! / Math.sqrt(scoreSquares) + polynomial(coefficients, inverseRoot);
  });
  const restOfScores = corrected.reduce((rest, _, i) => rest - 2 * scores[i]! ** 2, scoreSquares);
  const restOfWeights = corrected.reduce((rest, weight) => rest - 2 * weight * weight, 1);
  const factor = Math.sqrt(restOfScores / restOfWeights);
  return scores.map((score, i) => corrected[i] ?? score / factor);
}

function shapiroWilkP(missing: number, n: number): number {
  if (n === 3) {
    const p = (6 / Math.PI) * (Math.asin(Math.sqrt(1 - missing)) - Math.asin(Math.sqrt(0.75)));
    return Math.min(1, Math.max(0, p));
  }
  if (missing === 0) return 1;
  const y = Math.log(missing);
  if (n <= 11) {
    const gamma = polynomial([-2.273, 0.459], n);
    if (y >= gamma) return 0;
    const mean = polynomial([0.544, -0.39978, 0.025054, -6.714e-4], n);
    const sd = Math.exp(polynomial([1.3822, -0.77857, 0.062767, -0.0020322], n));
    return normalUpper((-Math.log(gamma - y) - mean) / sd);
  }
  const logN = Math.log(n);
  const mean = polynomial([-1.5861, -0.31082, -0.083751, 0.0038915], logN);
  const sd = Math.exp(polynomial([-0.4803, -0.082676, 0.0030302], logN));
  return normalUpper((y - mean) / sd);
}

/** c0 + c1 x + c2 x² + … */
function polynomial(coefficients: readonly number[], x: number): number {
  return coefficients.reduceRight((sum, coefficient) => sum * x + coefficient, 0);
}
