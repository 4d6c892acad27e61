import { requireValues } from './guards.js';
import { rangeMoments } from './studentized-range.js';
import { moments } from './summary.js';

/** The constants by which a mean moving range of two becomes a sigma and a limit. */
export type SpanConstant = 'exact' | 'table';

export interface IndividualsChart {
  readonly centre: number;
  readonly meanMovingRange: number;
  readonly sigma: number;
  readonly lower: number;
  readonly upper: number;
  /** Upper limit of the moving range; the lower one is 0. */
  readonly rangeUpper: number;
}

/**
 * Centre and limits of an individuals chart with moving ranges of two; values in time order.
 * `exact` uses d2 = 2/√π and D4 = 1 + 3 d3/d2; `table` the printed 1.128 and 3.267, which move the limits in the third
 * decimal. Source: NIST/SEMATECH e-Handbook 6.3.2.2.
 * @throws CalculationError below two values.
 */
export function individualsChart(values: readonly number[], constant: SpanConstant): IndividualsChart {
  requireValues(values, 2, 'values');
  const { d2, d4 } = spanConstants(constant);
  const centre = moments(values).mean;
  const meanMovingRange = moments(movingRanges(values)).mean;
  const sigma = meanMovingRange / d2;
  return {
    centre,
    meanMovingRange,
    sigma,
    lower: centre - 3 * sigma,
    upper: centre + 3 * sigma,
    rangeUpper: d4 * meanMovingRange,
  };
}

/** |x_i − x_(i−1)|, one fewer than the values. */
export function movingRanges(values: readonly number[]): number[] {
  return values.slice(1).map((value, i) => Math.abs(value - values[i]!));
}

/** Short-term sigma of values in time order: mean moving range of two over the exact d2. */
export function movingRangeSigma(values: readonly number[]): number {
  return moments(movingRanges(values)).mean / rangeMoments(2).mean;
}

function spanConstants(constant: SpanConstant): { d2: number; d4: number } {
  if (constant === 'table') return { d2: 1.128, d4: 3.267 };
  const { mean, sd } = rangeMoments(2);
  return { d2: mean, d4: 1 + (3 * sd) / mean };
}
