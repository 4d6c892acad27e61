import { CalculationError } from '../base/errors.js';
import type { CensoredValue } from './inputs.js';
import { logNormalCdf, normalHazard } from './log-tails.js';
import { moments } from './summary.js';

/** Value, slope and curvature of a logarithm at a point. */
interface Curve {
  readonly value: number;
  readonly slope: number;
  readonly curvature: number;
}

/**
 * A distribution of z = (x − location)/scale. Density, distribution function and its complement are log-concave for the
 * families here, so that the likelihood has one maximum, with censored values as well.
 */
export interface StandardFamily {
  readonly logDensity: (z: number) => Curve;
  readonly logBelow: (z: number) => Curve;
  readonly logAbove: (z: number) => Curve;
}

export interface LocationScale {
  readonly location: number;
  readonly scale: number;
  readonly logLikelihood: number;
}

const HALF_LOG_TWO_PI = 0.5 * Math.log(2 * Math.PI);

export const STANDARD_NORMAL: StandardFamily = {
  logDensity: (z) => ({ value: -0.5 * z * z - HALF_LOG_TWO_PI, slope: -z, curvature: -1 }),
  logBelow: logNormalBelow,
  logAbove: (z) => {
    const { value, slope, curvature } = logNormalBelow(-z);
    return { value, slope: -slope, curvature };
  },
};

/** The distribution of the logarithm of a Weibull variable: density exp(z − e^z). */
export const SMALLEST_EXTREME: StandardFamily = {
  logDensity: (z) => {
    const w = Math.exp(z);
    return { value: z - w, slope: 1 - w, curvature: -w };
  },
  logBelow: (z) => {
    const w = Math.exp(z);
    // ln(1 − e^−w), from the side that keeps its digits.
    const value = w < 0.5 ? Math.log(-Math.expm1(-w)) : Math.log1p(-Math.exp(-w));
    const slope = w === 0 ? 1 : w > 700 ? 0 : w / Math.expm1(w);
    return { value: w === 0 ? z : value, slope, curvature: slope * (1 - w - slope) };
  },
  logAbove: (z) => {
    const w = Math.exp(z);
    return { value: -w, slope: -w, curvature: -w };
  },
};

/** The part of a standard family that speaks for a value: its density, or the probability of what it may be. */
export function curveFor(family: StandardFamily, censored: CensoredValue['censored']): (z: number) => Curve {
  if (censored === 'none') return family.logDensity;
  return censored === 'below' ? family.logBelow : family.logAbove;
}

/**
 * Location and scale by maximum likelihood, with values of which only a limit is known. Newton's method in
 * location/scale and 1/scale, in which the log-likelihood is concave (Burridge, J. R. Statist. Soc. B 43, 1981;
 * from memory); steps are halved until the likelihood grows.
 * @throws CalculationError when no value is known, or when the likelihood grows without bound as the scale shrinks.
 */
export function fitLocationScale(values: readonly CensoredValue[], family: StandardFamily): LocationScale {
  const { origin, unit } = ruler(values);
  const terms = values.map(({ value, censored }) => ({
    x: (value - origin) / unit,
    curve: curveFor(family, censored),
  }));
  const known = values.filter(({ censored }) => censored === 'none').length;
  const evaluate = (point: Point) => logLikelihoodAt(point, terms, known);
  let point: Point = { shift: 0, steepness: 1 };
  while (!Number.isFinite(evaluate(point).value) && point.steepness > 1e-12) {
    point = { shift: 0, steepness: point.steepness / 2 };
  }
  let state = evaluate(point);
  for (let step = 0; step < 200; step++) {
    const { direction, decrement } = newtonStep(state);
    // So near the top the likelihood no longer tells points apart, while one full step doubles the digits.
    const isLast = decrement <= 1e-14 * values.length;
    const next = isLast ? along(point, direction, 1) : climb(evaluate, point, state.value, direction);
    if (next === undefined) break;
    point = next;
    state = evaluate(point);
    if (isLast) break;
  }
  const scale = unit / point.steepness;
  return {
    location: origin + point.shift * scale,
    scale,
    logLikelihood: state.value - known * Math.log(unit),
  };
}

/** z = steepness × x − shift. */
interface Point {
  readonly shift: number;
  readonly steepness: number;
}

interface Term {
  readonly x: number;
  readonly curve: (z: number) => Curve;
}

interface Likelihood {
  readonly value: number;
  readonly slopes: readonly [number, number];
  readonly curvatures: readonly [number, number, number];
}

/** Where and how wide the known values lie, so that the search works on numbers near 1. */
function ruler(values: readonly CensoredValue[]): { origin: number; unit: number } {
  const known = values.filter(({ censored }) => censored === 'none').map(({ value }) => value);
  if (known.length === 0) throw new CalculationError('values', 'every value is censored: at least one must be known');
  const { mean, sd, min, max } = moments(known);
  if (min < max && sd > 0) return { origin: mean, unit: sd };
  // All known values are equal: only a limit on the far side of them gives the distribution a width.
  const widths = values
    .filter(({ value, censored }) => (censored === 'below' ? value < min : censored === 'above' && value > min))
    .map(({ value }) => Math.abs(value - min));
  if (widths.length === 0) {
    throw new CalculationError('values', 'the known values do not differ: the spread is zero');
  }
  return { origin: min, unit: widths.reduce((widest, width) => Math.max(widest, width), 0) };
}

function logLikelihoodAt({ shift, steepness }: Point, terms: readonly Term[], known: number): Likelihood {
  let value = known * Math.log(steepness);
  let byShift = 0;
  let bySteepness = known / steepness;
  let shiftShift = 0;
  let shiftSteepness = 0;
  let steepnessSteepness = -known / (steepness * steepness);
  for (const { x, curve } of terms) {
    const at = curve(steepness * x - shift);
    value += at.value;
    byShift -= at.slope;
    bySteepness += at.slope * x;
    shiftShift += at.curvature;
    shiftSteepness -= at.curvature * x;
    steepnessSteepness += at.curvature * x * x;
  }
  return { value, slopes: [byShift, bySteepness], curvatures: [shiftShift, shiftSteepness, steepnessSteepness] };
}

function newtonStep({ slopes, curvatures }: Likelihood): { direction: Point; decrement: number } {
  const [byShift, bySteepness] = slopes;
  const [a, b, c] = curvatures;
  const determinant = a * c - b * b;
  const shift = (b * bySteepness - c * byShift) / determinant;
  const steepness = (b * byShift - a * bySteepness) / determinant;
  return { direction: { shift, steepness }, decrement: byShift * shift + bySteepness * steepness };
}

/** The first point along the direction, full step first, that is at least as likely; none when the top is reached. */
function climb(
  evaluate: (point: Point) => Likelihood,
  from: Point,
  height: number,
  direction: Point,
): Point | undefined {
  for (let length = 1; length > 1e-12; length /= 2) {
    const point = along(from, direction, length);
    if (point.steepness > 0 && evaluate(point).value >= height - 1e-14 * Math.abs(height)) return point;
  }
  return undefined;
}

function along(from: Point, direction: Point, length: number): Point {
  return {
    shift: from.shift + length * direction.shift,
    steepness: from.steepness + length * direction.steepness,
  };
}

function logNormalBelow(z: number): Curve {
  const hazard = normalHazard(z);
  return { value: logNormalCdf(z), slope: hazard, curvature: -hazard * (z + hazard) };
}
