import { gaussLegendre } from './gauss-legendre.js';
import { logGamma, stirlingRemainder } from './log-gamma.js';

/** From this shape on the density is nearly bell-shaped and is integrated; below it series and fraction are short. */
const LARGE_SHAPE = 60;
const ORDER = 40;
/** Standard deviations over which a tail fades to nothing, seen from any point of it. */
const REACH = 9.5;

/** P(X ≤ x) for a gamma variable of the given shape and rate 1, relative error about 1e-13 also in the lower tail. */
export function gammaLower(x: number, shape: number): number {
  if (x <= 0) return 0;
  if (shape >= LARGE_SHAPE) return x < shape ? largeShapeTail(x, shape) : 1 - largeShapeTail(x, shape);
  return x < shape + 1 ? lowerSeries(x, shape) : 1 - upperFraction(x, shape);
}

/** P(X > x) for a gamma variable of the given shape and rate 1, relative error about 1e-13 also in the upper tail. */
export function gammaUpper(x: number, shape: number): number {
  if (x <= 0) return 1;
  if (shape >= LARGE_SHAPE) return x < shape ? 1 - largeShapeTail(x, shape) : largeShapeTail(x, shape);
  return x < shape + 1 ? 1 - lowerSeries(x, shape) : upperFraction(x, shape);
}

/** The density of a gamma variable of the given shape and rate 1. */
export function gammaDensity(x: number, shape: number): number {
  if (x <= 0) return 0;
  if (shape < LARGE_SHAPE) return Math.exp((shape - 1) * Math.log(x) - x - logGamma(shape));
  // Relative to x = shape, so that no large logarithms cancel.
  const u = (x - shape) / shape;
  const logAtShape = -0.5 * Math.log(2 * Math.PI * shape) - stirlingRemainder(shape);
  return Math.exp(logAtShape + shape * (Math.log1p(u) - u) - Math.log1p(u));
}

/** Source: Abramowitz and Stegun 6.5.29. */
function lowerSeries(x: number, shape: number): number {
  let term = 1 / shape;
  let sum = term;
  for (let k = 1; k < 1000; k++) {
    term *= x / (shape + k);
    sum += term;
    if (term < sum * 1e-17) break;
  }
  return sum * x * gammaDensity(x, shape);
}

/** Continued fraction by Lentz's method. Source: Abramowitz and Stegun 6.5.31, even part; Numerical Recipes 6.2. */
function upperFraction(x: number, shape: number): number {
  let b = x + 1 - shape;
  let c = 1e300;
  let d = 1 / b;
  let fraction = d;
  for (let k = 1; k < 1000; k++) {
    const a = -k * (k - shape);
    b += 2;
    d = 1 / (a * d + b);
    c = b + a / c;
    const factor = c * d;
    fraction *= factor;
    if (Math.abs(factor - 1) < 1e-16) break;
  }
  return fraction * x * gammaDensity(x, shape);
}

/** The tail beyond x, on the side of x that does not hold the mean, by Gauss–Legendre over the part that counts. */
function largeShapeTail(x: number, shape: number): number {
  const reach = REACH * Math.sqrt(shape) + REACH;
  const from = x < shape ? Math.max(0, x - reach) : x;
  const to = x < shape ? x : x + reach;
  const { nodes, weights } = gaussLegendre(ORDER);
  const half = (to - from) / 2;
  let sum = 0;
  for (let i = 0; i < ORDER; i++) sum += weights[i]! * gammaDensity(from + half * (1 + nodes[i]!), shape);
  return half * sum;
}
