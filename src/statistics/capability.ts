import { normalUpper } from './distributions.js';
import { requireFinite, requirePositive } from './guards.js';
import { type Limits, requireLimit } from './inputs.js';

/** Capability indices of one spread. With one limit, `total` and the other side are absent. */
export interface Indices {
  /** Tolerance over six spreads: Pp (overall) or Cp (within). */
  readonly total?: number;
  /** Distance of the mean from the lower limit over three spreads. */
  readonly toLower?: number;
  readonly toUpper?: number;
  /** The smaller of the two: Ppk or Cpk. */
  readonly nearer: number;
}

/**
 * Indices of a normal characteristic from its mean and one spread (standard deviation). Unitless; mean, spread and
 * limits share one unit.
 * Source: NIST/SEMATECH e-Handbook 6.1.6; ISO 22514-2 for the names.
 * @throws CalculationError for a spread of 0, no limit, or limits the wrong way round.
 */
export function capabilityIndices(mean: number, spread: number, { lower, upper }: Limits): Indices {
  requireFinite(mean, 'mean');
  requirePositive(spread, 'sd');
  requireLimit({ lower, upper });
  const toLower = lower === undefined ? undefined : (mean - lower) / (3 * spread);
  const toUpper = upper === undefined ? undefined : (upper - mean) / (3 * spread);
  return {
    ...(lower !== undefined && upper !== undefined && { total: (upper - lower) / (6 * spread) }),
    ...(toLower !== undefined && { toLower }),
    ...(toUpper !== undefined && { toUpper }),
    nearer: Math.min(toLower ?? Number.POSITIVE_INFINITY, toUpper ?? Number.POSITIVE_INFINITY),
  };
}

/**
 * Indices by the percentile (quantile) method: 0.135 %, 50 % and 99.865 % points of the distribution take the place of
 * mean − 3 sd, mean and mean + 3 sd. Source: ISO 22514-2, general geometric method.
 */
export function percentileIndices(
  points: { readonly low: number; readonly middle: number; readonly high: number },
  { lower, upper }: Limits,
): Indices {
  const { low, middle, high } = points;
  const toLower = lower === undefined ? undefined : (middle - lower) / (middle - low);
  const toUpper = upper === undefined ? undefined : (upper - middle) / (high - middle);
  return {
    ...(lower !== undefined && upper !== undefined && { total: (upper - lower) / (high - low) }),
    ...(toLower !== undefined && { toLower }),
    ...(toUpper !== undefined && { toUpper }),
    nearer: Math.min(toLower ?? Number.POSITIVE_INFINITY, toUpper ?? Number.POSITIVE_INFINITY),
  };
}

/** k: how far the mean is off the middle of the tolerance, as a share of half the tolerance. Needs both limits. */
export function offCentreShare(mean: number, lower: number, upper: number): number {
  return Math.abs((lower + upper) / 2 - mean) / ((upper - lower) / 2);
}

/**
 * Cpm: the tolerance over six times the root mean square distance from the target, √(s² + (mean − target)²).
 * Source: NIST/SEMATECH e-Handbook 6.1.6 (s² with divisor n − 1).
 */
export function targetIndex(mean: number, sd: number, lower: number, upper: number, target: number): number {
  return (upper - lower) / (6 * Math.hypot(sd, mean - target));
}

/** Fraction of a normal characteristic beyond the limit that a one-sided index speaks of: 1 − Φ(3 index). */
export function tailFraction(index: number): number {
  return normalUpper(3 * index);
}
