import { CalculationError } from '../base/errors.js';
import { requireFinite, requireValues } from './guards.js';
import { requireSpread } from './inputs.js';
import { CompensatedSum, moments } from './summary.js';

export interface BoxCox {
  readonly lambda: number;
  readonly logLikelihood: number;
}

/** How far |λ × largest log distance from the geometric mean| is searched. */
const FARTHEST = 500;

/**
 * Box–Cox power that makes the values most nearly normal: the maximum of the profile log-likelihood
 * −(n/2) ln(Σ(y − mean)²/n) + (λ − 1) Σ ln x, with y = (x^λ − 1)/λ, or ln x for λ = 0. The profile is concave, so the
 * maximum is the single zero of its slope. Source: Box and Cox, J. R. Statist. Soc. B 26 (1964).
 * @throws CalculationError below three values, for a value that is not above zero, or when the values do not differ.
 */
export function boxCox(values: readonly number[]): BoxCox {
  const logs = centredLogs(values);
  const lambda = zeroOfSlope(logs.deviations);
  return { lambda, logLikelihood: profileAt(lambda, logs) };
}

/**
 * The profile log-likelihood for one power.
 * @throws CalculationError as `boxCox` does, and for a power that is not finite.
 */
export function boxCoxLogLikelihood(values: readonly number[], lambda: number): number {
  requireFinite(lambda, 'lambda');
  return profileAt(lambda, centredLogs(values));
}

interface CentredLogs {
  readonly meanLog: number;
  /** ln x − meanLog, so that the powers are those of x over the geometric mean. */
  readonly deviations: Float64Array;
}

function centredLogs(values: readonly number[]): CentredLogs {
  requireValues(values, 3, 'values');
  values.forEach((value, index) => {
    if (!(value > 0)) throw new CalculationError(`values.${index}`, `found ${value}, a power needs values above 0`);
  });
  const logs = Float64Array.from(values, Math.log);
  const { mean, sumSquares } = moments(logs);
  requireSpread(sumSquares, 'values');
  return { meanLog: mean, deviations: logs.map((log) => log - mean) };
}

/** With u = ln x − mean of ln x the profile is −(n/2) ln(variance of (e^{λu} − 1)/λ) − Σ ln x for every λ. */
function profileAt(lambda: number, { meanLog, deviations }: CentredLogs): number {
  const n = deviations.length;
  // A common factor e^shift is taken out, so that large powers do not overflow.
  const shift = deviations.reduce((largest, u) => Math.max(largest, lambda * u), 0);
  const transformed = deviations.map((u) => transformedAt(lambda, u, shift));
  const logVariance = Math.log(moments(transformed).sumSquares / n) + 2 * shift;
  return -0.5 * n * logVariance - n * meanLog;
}

/** ((e^{λu} − 1)/λ) e^{−shift}. */
function transformedAt(lambda: number, u: number, shift: number): number {
  if (lambda === 0) return u;
  const s = lambda * u;
  return (shift < 1 ? Math.expm1(s) * Math.exp(-shift) : Math.exp(s - shift) - Math.exp(-shift)) / lambda;
}

function zeroOfSlope(deviations: Float64Array): number {
  const scale = deviations.reduce((largest, u) => Math.max(largest, Math.abs(u)), 0);
  const slope = (reach: number) => slopeSign(reach / scale, deviations);
  const rising = slope(0) > 0;
  let nearer = 0;
  let farther = rising ? 1 : -1;
  while (slope(farther) > 0 === rising) {
    nearer = farther;
    farther *= 2;
    if (Math.abs(farther) > FARTHEST) {
      throw new CalculationError('values', 'no power within reach makes these values nearly normal');
    }
  }
  return bisect(slope, Math.min(nearer, farther), Math.max(nearer, farther)) / scale;
}

/** The slope of the profile up to a positive factor: minus the covariance of the transform and its slope in λ. */
function slopeSign(lambda: number, deviations: Float64Array): number {
  const shift = deviations.reduce((largest, u) => Math.max(largest, lambda * u), 0);
  const transformed = deviations.map((u) => transformedAt(lambda, u, shift));
  const { mean } = moments(transformed);
  const covariance = new CompensatedSum();
  deviations.forEach((u, i) => {
    covariance.add((transformed[i]! - mean) * u * u * slopeShape(lambda * u) * Math.exp(-shift));
  });
  return -covariance.total;
}

/** (s e^s − e^s + 1)/s² = Σ s^j (j + 1)/(j + 2)!; the derivative of (e^{λu} − 1)/λ by λ is u² times this at s = λu. */
function slopeShape(s: number): number {
  if (Math.abs(s) > 0.5) return ((s - 1) * Math.exp(s) + 1) / (s * s);
  let power = 0.5;
  let sum = 0;
  for (let j = 0; j < 18; j++) {
    sum += power * (j + 1);
    power *= s / (j + 3);
  }
  return sum;
}

/** The zero of a function that falls from positive to negative between low and high, to the last digits. */
function bisect(f: (x: number) => number, low: number, high: number): number {
  let from = low;
  let to = high;
  for (let step = 0; step < 100; step++) {
    const middle = (from + to) / 2;
    if (middle === from || middle === to || Math.abs(to - from) < 1e-13 * Math.max(1, Math.abs(middle))) break;
    if (f(middle) > 0) from = middle;
    else to = middle;
  }
  return (from + to) / 2;
}
