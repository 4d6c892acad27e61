import { CalculationError } from '../base/errors.js';
import { fitGamma, logGammaDensity } from './fit-gamma.js';
import {
  curveFor,
  fitLocationScale,
  type LocationScale,
  SMALLEST_EXTREME,
  STANDARD_NORMAL,
  type StandardFamily,
} from './fit-location-scale.js';
import { fitThreshold } from './fit-threshold.js';
import type { FittedCurves, PositiveName } from './fitted-curves.js';
import type { FittedDistribution } from './fitted-distributions.js';
import { requireFinite } from './guards.js';
import type { CensoredValue } from './inputs.js';
import { logGammaLower, logGammaUpper } from './log-tails.js';
import { andersonDarlingStatistic } from './normality.js';
import { moments } from './summary.js';

export type DistributionName = FittedDistribution['name'];

export interface Fit {
  readonly distribution: FittedDistribution;
  readonly logLikelihood: number;
  /** A² against the fitted distribution; absent when a value is censored. */
  readonly andersonDarling?: number;
}

/**
 * Fits a distribution by maximum likelihood; `<0.3` counts with the probability of lying below 0.3, `>120` with that of
 * lying above 120. Normal and lognormal have the divisor n in their standard deviation.
 * With `threshold`, lognormal, Weibull and gamma get a lower end other than zero.
 * Source: Lawless, Statistical Models and Methods for Lifetime Data; Meeker and Escobar, Statistical Methods for
 * Reliability Data.
 * @throws CalculationError below two values, for a value that is not finite or lies outside the distribution, when the
 *   known values do not differ, or when the likelihood has no maximum.
 */
export function fitDistribution(values: readonly CensoredValue[], name: DistributionName, threshold = false): Fit {
  if (values.length < 2) throw new CalculationError('values', `found ${values.length} values, needs at least 2`);
  values.forEach(({ value }, index) => {
    requireFinite(value, `values.${index}`);
  });
  const curves = threshold ? fitThreshold(values, positiveName(name), fitPositive) : fitWithoutThreshold(values, name);
  const { distribution, logLikelihood } = curves;
  if (![logLikelihood, ...Object.values(distribution.parameters)].every(Number.isFinite)) {
    throw new CalculationError('values', `lie too far apart for a ${name} fit in double precision`);
  }
  if (values.some(({ censored }) => censored !== 'none')) return { distribution, logLikelihood };
  const ascending = Float64Array.from(values, ({ value }) => value).sort();
  const andersonDarling = andersonDarlingStatistic(ascending, curves.logBelow, curves.logAbove);
  return { distribution, logLikelihood, andersonDarling };
}

function positiveName(name: DistributionName): PositiveName {
  if (name === 'normal' || name === 'gumbel') {
    throw new CalculationError('threshold', `a ${name} distribution has no lower end that a threshold could move`);
  }
  return name;
}

function fitWithoutThreshold(values: readonly CensoredValue[], name: DistributionName): FittedCurves {
  if (name === 'normal') return fitNormal(values);
  return name === 'gumbel' ? fitGumbel(values) : fitPositive(values, name);
}

function fitNormal(values: readonly CensoredValue[]): FittedCurves {
  const { location: mean, scale: sd, logLikelihood } = normalLocationScale(values);
  return {
    distribution: { name: 'normal', parameters: { mean, sd } },
    logLikelihood,
    ...curvesOf(STANDARD_NORMAL, (x) => (x - mean) / sd, 1 / sd),
  };
}

/** Largest extremes are the smallest ones of −x. */
function fitGumbel(values: readonly CensoredValue[]): FittedCurves {
  const opposite = { none: 'none', below: 'above', above: 'below' } as const;
  const mirrored = values.map(({ value, censored }) => ({ value: -value, censored: opposite[censored] }));
  const { location: mirroredLocation, scale, logLikelihood } = fitLocationScale(mirrored, SMALLEST_EXTREME);
  const location = -mirroredLocation;
  const curves = curvesOf(SMALLEST_EXTREME, (x) => (location - x) / scale, -1 / scale);
  return {
    distribution: { name: 'gumbel', parameters: { location, scale } },
    logLikelihood,
    logBelow: curves.logAbove,
    logAbove: curves.logBelow,
    slope: ({ value, censored }) => curves.slope({ value, censored: opposite[censored] }),
  };
}

/** @throws CalculationError when a value does not lie above zero. */
function fitPositive(values: readonly CensoredValue[], name: PositiveName): FittedCurves {
  values.forEach(({ value }, index) => {
    if (!(value > 0)) {
      throw new CalculationError(`values.${index}`, `found ${value}, a ${name} distribution needs values above 0`);
    }
  });
  return name === 'gamma' ? fitGammaCurves(values) : fitOnLogs(values, name);
}

function fitOnLogs(values: readonly CensoredValue[], name: 'lognormal' | 'weibull'): FittedCurves {
  const logs = values.map(({ value, censored }) => ({ value: Math.log(value), censored }));
  const family = name === 'weibull' ? SMALLEST_EXTREME : STANDARD_NORMAL;
  const onLogs = name === 'weibull' ? fitLocationScale(logs, family) : normalLocationScale(logs);
  const { location, scale } = onLogs;
  const curves = curvesOf(family, (x) => (Math.log(x) - location) / scale, 1 / scale);
  const sumOfLogs = logs.reduce((sum, { value, censored }) => sum + (censored === 'none' ? value : 0), 0);
  return {
    distribution:
      name === 'weibull'
        ? { name, parameters: { shape: 1 / scale, scale: Math.exp(location) } }
        : { name, parameters: { logMean: location, logSd: scale } },
    logLikelihood: onLogs.logLikelihood - sumOfLogs,
    logBelow: curves.logBelow,
    logAbove: curves.logAbove,
    slope: (each) => (curves.slope(each) - (each.censored === 'none' ? 1 : 0)) / each.value,
  };
}

function fitGammaCurves(values: readonly CensoredValue[]): FittedCurves {
  const { shape, rate, logLikelihood } = fitGamma(values);
  return {
    distribution: { name: 'gamma', parameters: { shape, rate } },
    logLikelihood,
    logBelow: (x) => logGammaLower(rate * x, shape),
    logAbove: (x) => logGammaUpper(rate * x, shape),
    slope: ({ value, censored }) => {
      if (censored === 'none') return (shape - 1) / value - rate;
      const logDensity = logGammaDensity(value, { shape, rate });
      if (censored === 'below') return Math.exp(logDensity - logGammaLower(rate * value, shape));
      return -Math.exp(logDensity - logGammaUpper(rate * value, shape));
    },
  };
}

/** Mean and standard deviation with divisor n; in closed form when every value is known. */
function normalLocationScale(values: readonly CensoredValue[]): LocationScale {
  if (values.some(({ censored }) => censored !== 'none')) return fitLocationScale(values, STANDARD_NORMAL);
  const { n, mean, sumSquares } = moments(values.map(({ value }) => value));
  if (!(sumSquares > 0)) throw new CalculationError('values', 'the values do not differ: the spread is zero');
  const scale = Math.sqrt(sumSquares / n);
  return { location: mean, scale, logLikelihood: -n * (Math.log(scale) + 0.5 * Math.log(2 * Math.PI) + 0.5) };
}

function curvesOf(family: StandardFamily, z: (x: number) => number, slopeOfZ: number) {
  return {
    logBelow: (x: number) => family.logBelow(z(x)).value,
    logAbove: (x: number) => family.logAbove(z(x)).value,
    slope: ({ value, censored }: CensoredValue) => slopeOfZ * curveFor(family, censored)(z(value)).slope,
  };
}
