import { betaCdf, betaUpper } from './incomplete-beta.js';
import { gammaDensity, gammaLower, gammaUpper } from './incomplete-gamma.js';
import { logGamma } from './log-gamma.js';

/*
 * The ordinary distributions. They are our own: of the packages that we measured the small ones lose all digits in far
 * tails, and the one that does not is three hundred packages and fails for the gamma distribution of large shapes.
 * tests/reference/distributions.json holds ours to 30-digit arithmetic.
 */

const INVERSE_ROOT_TWO_PI = 1 / Math.sqrt(2 * Math.PI);
/** Beyond this a density is less than the smallest number. */
const FARTHEST = 39;

/** Φ(z), the standard normal distribution function; keeps its relative accuracy in the lower tail. */
export function normalCdf(z: number): number {
  return normalUpper(-z);
}

/** 1 − Φ(z), without loss of digits in the upper tail. */
export function normalUpper(z: number): number {
  return z < 0 ? 1 - normalTail(-z) : normalTail(z);
}

/** φ(z), the standard normal density. */
export function normalDensity(z: number): number {
  if (Math.abs(z) > FARTHEST) return 0;
  // The square of 24 bits is exact, so that the large exponent is.
  const high = Math.fround(z);
  return INVERSE_ROOT_TWO_PI * Math.exp(-0.5 * high * high) * Math.exp(-0.5 * (z - high) * (z + high));
}

/**
 * (1 + z) (1 − Φ(z))/φ(z) for z ≥ 0 as a Chebyshev series in (z − 5)/(z + 5), made by
 * tests/reference/write-distributions.py. Form: Shepherd and Laframboise, Mathematics of Computation 36 (1981) 249
 * (from memory).
 */
const MILLS_SERIES: readonly number[] = [
  1.1579976221305188, -0.1633449388451398, -0.013683136055781576, 0.03082200019810004, -0.016220073012046806,
  0.005616691016460094, -0.0014133933783549216, 0.0002502625460725661, -2.468907239728387e-5, -1.0107964061837592e-6,
  7.495419179740573e-7, -7.600274268728337e-8, -1.1574771441328644e-8, 3.333386472599843e-9, 7.538039628171347e-11,
  -1.1104247263727494e-10, 3.509243776551059e-12, 3.6894953861750955e-12, -2.3376697776383095e-13,
  -1.3271797523541405e-13, 9.921706995888276e-15, 5.276004995455379e-15, -3.373097694187922e-16,
  -2.2804338776379946e-16, 7.496330565808626e-18,
];

function normalTail(z: number): number {
  if (z > FARTHEST) return 0;
  const t = (z - 5) / (z + 5);
  let [next, afterNext] = [0, 0];
  for (let k = MILLS_SERIES.length - 1; k > 0; k--) {
    const sum = 2 * t * next - afterNext + MILLS_SERIES[k]!;
    afterNext = next;
    next = sum;
  }
  return (normalDensity(z) * (t * next - afterNext + MILLS_SERIES[0]!)) / (1 + z);
}

/** z with Φ(z) = p, for 0 < p < 1. */
export function normalQuantile(p: number): number {
  if (p === 0.5) return 0;
  // An upper probability of 1 − p is exact in binary for p ≥ 0.5, so the work is done in the lower tail.
  return p < 0.5 ? lowerNormalQuantile(p) : -lowerNormalQuantile(1 - p);
}

/** Start: Abramowitz and Stegun 26.2.23 (error below 4.5e-4); then Newton steps on the logarithm of Φ. */
function lowerNormalQuantile(p: number): number {
  const t = Math.sqrt(-2 * Math.log(p));
  let z = ((0.010328 * t + 0.802853) * t + 2.515517) / (((0.001308 * t + 0.189269) * t + 1.432788) * t + 1) - t;
  for (let step = 0; step < 4; step++) {
    const below = normalCdf(z);
    const change = (Math.log(below / p) * below) / normalDensity(z);
    z -= change;
    if (Math.abs(change) <= 1e-16 * Math.abs(z)) break;
  }
  return z;
}

/** The quantile of a gamma distribution with the given shape and rate 1, for 0 < p < 1. */
export function gammaQuantile(p: number, shape: number): number {
  let x = gammaStart(p, shape);
  for (let step = 0; step < 60; step++) {
    // The nearer tail keeps its digits.
    const excess = p < 0.5 ? gammaLower(x, shape) - p : 1 - p - gammaUpper(x, shape);
    const change = excess / gammaDensity(x, shape);
    const next = Number.isFinite(change) ? Math.min(Math.max(x - change, x / 4), 4 * x) : x / 2;
    const settled = Math.abs(next - x) <= 1e-15 * x;
    x = next;
    if (settled) break;
  }
  return x;
}

/** Wilson and Hilferty (1931): the cube root is nearly normal; below its reach the leading term of the series. */
function gammaStart(p: number, shape: number): number {
  const ninth = 1 / (9 * shape);
  const root = 1 - ninth + normalQuantile(p) * Math.sqrt(ninth);
  if (shape > 1 && root > 0.3) return shape * root ** 3;
  const leading = Math.exp((Math.log(p) + logGamma(shape + 1)) / shape);
  return leading < 0.5 * (shape + 1) || root <= 0 ? leading : shape * Math.max(root, 0.1) ** 3;
}

/** P(χ² > x), without loss of digits in the upper tail. */
export function chiSquareUpper(x: number, degreesOfFreedom: number): number {
  return gammaUpper(x / 2, degreesOfFreedom / 2);
}

/** x with P(χ² ≤ x) = p, for 0 < p < 1. */
export function chiSquareQuantile(p: number, degreesOfFreedom: number): number {
  return 2 * gammaQuantile(p, degreesOfFreedom / 2);
}

/** P(at most `count` of n), each with probability p; 0 ≤ count < n, 0 ≤ p ≤ 1. Source: Abramowitz and Stegun 26.5.24. */
export function binomialCdf(count: number, n: number, p: number): number {
  return betaUpper(p, count + 1, n - count);
}

/** P(F > f) with the given degrees of freedom; keeps its relative accuracy for small probabilities. */
export function fUpper(f: number, numeratorDf: number, denominatorDf: number): number {
  return betaCdf(denominatorDf / (denominatorDf + numeratorDf * f), denominatorDf / 2, numeratorDf / 2);
}

/** Far beyond what degrees of freedom up to a million lead to, for probabilities down to 1e-12. */
const LARGEST_LOG_F = 200;

/** f with P(F ≤ f) = p, for 0 < p < 1, by bisection of ln f: to the last digits of the distribution function. */
export function fQuantile(p: number, numeratorDf: number, denominatorDf: number): number {
  let low = -LARGEST_LOG_F;
  let high = LARGEST_LOG_F;
  for (let step = 0; step < 120; step++) {
    const middle = (low + high) / 2;
    if (middle <= low || middle >= high) break;
    const below = betaCdf(
      1 / (1 + denominatorDf / (numeratorDf * Math.exp(middle))),
      numeratorDf / 2,
      denominatorDf / 2,
    );
    if (below < p) low = middle;
    else high = middle;
  }
  return Math.exp((low + high) / 2);
}
