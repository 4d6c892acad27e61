import beta from '@stdlib/stats-base-dists-beta';
import normal from '@stdlib/stats-base-dists-normal';
import { gammaDensity, gammaLower, gammaUpper } from './incomplete-gamma.js';
import { logGamma } from './log-gamma.js';

/*
 * The ordinary distributions. Normal and beta probabilities come from @stdlib; its normal quantile loses digits below
 * p = 1e-9 and fails below 1e-16, and its gamma and chi-square functions fail for large shapes, so those are ours.
 */

const INVERSE_ROOT_TWO_PI = 1 / Math.sqrt(2 * Math.PI);

/** Φ(z), the standard normal distribution function; keeps its relative accuracy in the lower tail. */
export function normalCdf(z: number): number {
  return normal.cdf(z, 0, 1);
}

/** 1 − Φ(z), without loss of digits in the upper tail. */
export function normalUpper(z: number): number {
  return normal.cdf(-z, 0, 1);
}

/** φ(z), the standard normal density. */
export function normalDensity(z: number): number {
  return INVERSE_ROOT_TWO_PI * Math.exp(-0.5 * z * z);
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

/** The regularised incomplete beta function I_x(a, b), a, b > 0. */
export function betaCdf(x: number, a: number, b: number): number {
  if (x <= 0) return 0;
  return x >= 1 ? 1 : beta.cdf(x, a, b);
}

/** P(F > f) with the given degrees of freedom; keeps its relative accuracy for small probabilities. */
export function fUpper(f: number, numeratorDf: number, denominatorDf: number): number {
  return betaCdf(denominatorDf / (denominatorDf + numeratorDf * f), denominatorDf / 2, numeratorDf / 2);
}
