import { CalculationError } from '../base/errors.js';
import { logMinusDigamma } from './digamma.js';
import { type CensoredValue, requireSpread } from './inputs.js';
import { stirlingRemainder } from './log-gamma.js';
import { logGammaLower, logGammaUpper } from './log-tails.js';
import { CompensatedSum, moments } from './summary.js';

export interface GammaFit {
  readonly shape: number;
  readonly rate: number;
  readonly logLikelihood: number;
}

/**
 * Shape and rate of a gamma distribution by maximum likelihood. Without censored values the rate is shape/mean and the
 * shape solves ln a − ψ(a) = ln(mean) − mean of ln x; with them a Newton search in ln(shape) and ln(mean) follows.
 * All values must lie above zero.
 * Source: Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 1, chapter 17.
 * @throws CalculationError when no two known values differ, or when the search finds no maximum.
 */
export function fitGamma(values: readonly CensoredValue[]): GammaFit {
  const known = values.filter(({ censored }) => censored === 'none').map(({ value }) => value);
  if (known.length === 0) throw new CalculationError('values', 'every value is censored: at least one must be known');
  const { min, max } = moments(known);
  requireSpread(max - min, 'values');
  const start = known.length === values.length ? known : values.map(({ value }) => value);
  const complete = fitComplete(start);
  const best = known.length === values.length ? complete : fitCensored(values, complete);
  return { ...best, logLikelihood: logLikelihoodOf(values, best) };
}

/** ln of the density of a gamma variable at x > 0, for shapes of any size. */
export function logGammaDensity(x: number, { shape, rate }: { shape: number; rate: number }): number {
  const u = (rate * x) / shape;
  const atMean = 0.5 * Math.log(shape / (2 * Math.PI)) - stirlingRemainder(shape);
  return atMean + (shape - 1) * Math.log(u) - shape * (u - 1) + Math.log(rate / shape);
}

interface ShapeRate {
  readonly shape: number;
  readonly rate: number;
}

function fitComplete(values: readonly number[]): ShapeRate {
  const { mean } = moments(values);
  const gap = new CompensatedSum();
  // ln(mean) − mean of ln x as a sum of terms that are never negative, so that nearly equal values keep their digits.
  for (const value of values) {
    const d = (value - mean) / mean;
    gap.add(d - Math.log1p(d));
  }
  const shape = shapeForGap(gap.total / values.length);
  return { shape, rate: shape / mean };
}

/** a with ln a − ψ(a) = gap, by Newton's method in ln a with a difference for the slope. */
function shapeForGap(gap: number): number {
  let logShape = Math.log((3 - gap + Math.sqrt((gap - 3) ** 2 + 24 * gap)) / (12 * gap));
  const f = (x: number) => Math.log(logMinusDigamma(Math.exp(x)) / gap);
  for (let step = 0; step < 50; step++) {
    const change = f(logShape) / ((f(logShape + 1e-5) - f(logShape - 1e-5)) / 2e-5);
    logShape -= change;
    if (Math.abs(change) < 1e-14) break;
  }
  return Math.exp(logShape);
}

function logLikelihoodOf(values: readonly CensoredValue[], parameters: ShapeRate): number {
  const { shape, rate } = parameters;
  const sum = new CompensatedSum();
  for (const { value, censored } of values) {
    if (censored === 'none') sum.add(logGammaDensity(value, parameters));
    else sum.add(censored === 'below' ? logGammaLower(rate * value, shape) : logGammaUpper(rate * value, shape));
  }
  return sum.total;
}

/** Logarithms of shape and mean: nearly independent of each other, and never out of range. */
type Point = readonly [logShape: number, logMean: number];

function fitCensored(values: readonly CensoredValue[], start: ShapeRate): ShapeRate {
  const parametersAt = ([logShape, logMean]: Point) => {
    const shape = Math.exp(logShape);
    return { shape, rate: shape / Math.exp(logMean) };
  };
  const height = (point: Point) => logLikelihoodOf(values, parametersAt(point));
  const slope = (point: Point) => slopeAt(values, parametersAt(point));
  let point: Point = [Math.log(start.shape), Math.log(start.shape / start.rate)];
  for (let step = 0; step < 200; step++) {
    const next = climb(height, point, ascent(slope, point));
    const moved = Math.max(Math.abs(next[0] - point[0]), Math.abs(next[1] - point[1]));
    point = next;
    if (moved < 1e-9) return parametersAt(point);
  }
  throw new CalculationError('values', 'the likelihood of a gamma distribution has no maximum that can be found');
}

/** Slope of the log-likelihood by ln(shape) at fixed mean, and by ln(mean). */
function slopeAt(values: readonly CensoredValue[], { shape, rate }: ShapeRate): Point {
  const shapeConstant = logMinusDigamma(shape);
  let byShape = 0;
  let byLogRate = 0;
  for (const { value, censored } of values) {
    const x = rate * value;
    if (censored === 'none') {
      byShape += Math.log(x / shape) + shapeConstant;
      byLogRate += shape - x;
    } else {
      const logTail = censored === 'below' ? logGammaLower : logGammaUpper;
      byShape += slopeByShape((a) => logTail(x, a), shape);
      const mass = x * Math.exp(logGammaDensity(x, { shape, rate: 1 }) - logTail(x, shape));
      byLogRate += censored === 'below' ? mass : -mass;
    }
  }
  return [shape * byShape + byLogRate, -byLogRate];
}

/** Fourth-order difference; the step follows the width on which a tail changes with the shape. */
function slopeByShape(f: (shape: number) => number, shape: number): number {
  const h = 5e-3 * Math.min(shape, Math.sqrt(shape));
  return (8 * (f(shape + h) - f(shape - h)) - (f(shape + 2 * h) - f(shape - 2 * h))) / (12 * h);
}

/** Newton's direction from differences of the slope; the slope itself where the surface is not a hill. */
function ascent(slope: (point: Point) => Point, point: Point): Point {
  const h = 1e-4;
  const here = slope(point);
  const right = slope([point[0] + h, point[1]]);
  const left = slope([point[0] - h, point[1]]);
  const above = slope([point[0], point[1] + h]);
  const below = slope([point[0], point[1] - h]);
  const a = (right[0] - left[0]) / (2 * h);
  const b = (right[1] - left[1] + above[0] - below[0]) / (4 * h);
  const c = (above[1] - below[1]) / (2 * h);
  const determinant = a * c - b * b;
  if (!(a < 0 && determinant > 0)) {
    const length = Math.hypot(here[0], here[1]);
    return [here[0] / length, here[1] / length];
  }
  return [(b * here[1] - c * here[0]) / determinant, (b * here[0] - a * here[1]) / determinant];
}

/** The first point along the direction, full step first (2 at most), that is at least as likely. */
function climb(height: (point: Point) => number, from: Point, direction: Point): Point {
  const here = height(from);
  const longest = Math.max(1, Math.hypot(direction[0], direction[1]) / 2);
  for (let length = 1 / longest; length > 1e-12; length /= 2) {
    const point: Point = [from[0] + length * direction[0], from[1] + length * direction[1]];
    if (height(point) >= here - 1e-13 * Math.abs(here)) return point;
  }
  return from;
}
