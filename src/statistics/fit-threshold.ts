import { CalculationError } from '../base/errors.js';
import type { FittedCurves, PositiveName } from './fitted-curves.js';
import type { CensoredValue } from './inputs.js';
import { moments } from './summary.js';

type FitPositive = (values: readonly CensoredValue[], name: PositiveName) => FittedCurves;

/** Distances of the threshold below the smallest value that are tried, in widths of the known values. */
const FARTHEST = 1e3;
const NEAREST = 1e-4;
const STEPS = 56;

/**
 * A distribution with a lower end of its own, by profile likelihood: for each threshold the other parameters are fitted,
 * and the threshold is the highest local maximum of what remains. As the threshold nears the smallest value the
 * likelihood can grow without bound; that is not a maximum and is not followed.
 * Source: Smith, Biometrika 72 (1985); Cohen and Whitten, Parameter Estimation in Reliability and Life Span Models.
 * @throws CalculationError when the profile has no local maximum, so that the data do not determine a threshold.
 */
export function fitThreshold(values: readonly CensoredValue[], name: PositiveName, fit: FitPositive): FittedCurves {
  const { ceiling, width } = reachOf(values);
  const at = (distance: number) => profileAt(values, name, fit, ceiling - distance);
  const factor = (NEAREST / FARTHEST) ** (1 / STEPS);
  let best: Profile | undefined;
  let far = width * FARTHEST;
  let farSlope = at(far).slope;
  for (let step = 1; step <= STEPS; step++) {
    const near = width * FARTHEST * factor ** step;
    const { slope } = at(near);
    if (farSlope > 0 && slope <= 0) {
      const candidate = at(zeroBetween((distance) => at(distance).slope, far, near));
      if (best === undefined || candidate.curves.logLikelihood > best.curves.logLikelihood) best = candidate;
    }
    far = near;
    farSlope = slope;
  }
  if (best === undefined) {
    throw new CalculationError(
      'threshold',
      'the likelihood has no local maximum: these values do not determine a threshold; fit without one',
    );
  }
  return moved(best);
}

interface Profile {
  readonly threshold: number;
  readonly curves: FittedCurves;
  /** Slope of the profile log-likelihood in the threshold. */
  readonly slope: number;
}

function profileAt(values: readonly CensoredValue[], name: PositiveName, fit: FitPositive, threshold: number): Profile {
  const above = values
    .map(({ value, censored }) => ({ value: value - threshold, censored }))
    // A run-out below the threshold is certain and says nothing.
    .filter(({ value, censored }) => censored !== 'above' || value > 0);
  const curves = fit(above, name);
  return { threshold, curves, slope: -above.reduce((sum, value) => sum + curves.slope(value), 0) };
}

/** The threshold lies below every known value and every upper limit. */
function reachOf(values: readonly CensoredValue[]): { ceiling: number; width: number } {
  const known = values.filter(({ censored }) => censored === 'none').map(({ value }) => value);
  if (known.length === 0) throw new CalculationError('values', 'every value is censored: at least one must be known');
  const { min, max } = moments(known);
  if (!(max > min)) throw new CalculationError('values', 'the known values do not differ: the spread is zero');
  const limits = values.filter(({ censored }) => censored === 'below').map(({ value }) => value);
  return { ceiling: limits.reduce((lowest, limit) => Math.min(lowest, limit), min), width: max - min };
}

/** The distance between far (slope above 0) and near (slope 0 or below) at which the slope is zero (Illinois method). */
function zeroBetween(slope: (distance: number) => number, far: number, near: number): number {
  let a = far;
  let b = near;
  let atA = slope(a);
  let atB = slope(b);
  for (let step = 0; step < 100 && Math.abs(a - b) > 1e-12 * Math.abs(a); step++) {
    const middle = (a * atB - b * atA) / (atB - atA);
    const value = slope(middle);
    if (value === 0) return middle;
    if (value > 0 === atA > 0) {
      a = middle;
      atA = value;
      atB /= 2;
    } else {
      b = a;
      atB = atA;
      a = middle;
      atA = value;
    }
    if (Math.abs(value) < 1e-13) return middle;
  }
  return a;
}

function moved({ threshold, curves }: Profile): FittedCurves {
  const { distribution, logBelow, logAbove, slope } = curves;
  return {
    distribution: {
      ...distribution,
      parameters: { ...distribution.parameters, threshold },
    } as FittedCurves['distribution'],
    logLikelihood: curves.logLikelihood,
    logBelow: (x) => logBelow(x - threshold),
    logAbove: (x) => logAbove(x - threshold),
    slope: ({ value, censored }) => slope({ value: value - threshold, censored }),
  };
}
