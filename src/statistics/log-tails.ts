import { normalCdf, normalDensity, normalUpper } from './distributions.js';
import { gammaLower, gammaUpper } from './incomplete-gamma.js';
import { logGamma } from './log-gamma.js';

/*
 * Logarithms of distribution functions that stay finite where the functions themselves fall below the smallest double.
 * Likelihoods of censored values and the Anderson–Darling statistic need them.
 */

const HALF_LOG_TWO_PI = 0.5 * Math.log(2 * Math.PI);
/** Below this Φ(z) is replaced by its asymptotic series, which has there all digits of a double. */
const FAR_TAIL = -35;
/** Probabilities below this are taken through their logarithm. */
const SMALL = 1e-280;

/** ln Φ(z). Far tail: Abramowitz and Stegun 26.2.12. */
export function logNormalCdf(z: number): number {
  if (z > 0) return Math.log1p(-normalUpper(z));
  if (z > FAR_TAIL) return Math.log(normalCdf(z));
  return -0.5 * z * z - HALF_LOG_TWO_PI - Math.log(-z) + Math.log1p(farTailSeries(z));
}

/** φ(z) / Φ(z), the derivative of ln Φ(z). */
export function normalHazard(z: number): number {
  return z > FAR_TAIL ? normalDensity(z) / normalCdf(z) : -z / (1 + farTailSeries(z));
}

/** ln P(X ≤ x) of a gamma variable with rate 1, x > 0. */
export function logGammaLower(x: number, shape: number): number {
  const probability = gammaLower(x, shape);
  if (probability > 0.5) return Math.log1p(-gammaUpper(x, shape));
  if (probability > SMALL) return Math.log(probability);
  let term = 1;
  let sum = 1;
  for (let k = 1; k < 10_000 && term > sum * 1e-17; k++) {
    term *= x / (shape + k);
    sum += term;
  }
  return shape * Math.log(x) - x - logGamma(shape + 1) + Math.log(sum);
}

/** ln P(X > x) of a gamma variable with rate 1. */
export function logGammaUpper(x: number, shape: number): number {
  if (x <= 0) return 0;
  const probability = gammaUpper(x, shape);
  if (probability > 0.5) return Math.log1p(-gammaLower(x, shape));
  if (probability > SMALL) return Math.log(probability);
  // x lies far beyond the shape here, so that the continued fraction needs few terms, taken from its end.
  let fraction = x;
  for (let k = 200; k >= 1; k--) fraction = x + (k - shape) / (1 + k / fraction);
  return shape * Math.log(x) - x - logGamma(shape) - Math.log(fraction);
}

function farTailSeries(z: number): number {
  const r = 1 / (z * z);
  return -r * (1 - 3 * r * (1 - 5 * r * (1 - 7 * r)));
}
