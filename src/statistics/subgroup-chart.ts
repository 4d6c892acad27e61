import { chartConstants, meanSdRatio } from './chart-constants.js';
import { rangeMoments } from './studentized-range.js';
import { moments } from './summary.js';

/** What a subgroup chart takes as the spread within a subgroup. */
export type SubgroupSpread = 'range' | 'sd';

/** Limits are single numbers when all subgroups have the same size, else one per subgroup. */
export type PerSubgroup = number | readonly number[];

export interface SubgroupChart {
  readonly means: readonly number[];
  readonly spreads: readonly number[];
  readonly grandMean: number;
  /** Mean range, or mean standard deviation (pooled when the sizes differ). */
  readonly meanSpread: number;
  /** Estimated standard deviation of single values. */
  readonly sigma: number;
  readonly meanLower: PerSubgroup;
  readonly meanUpper: PerSubgroup;
  readonly spreadLower: PerSubgroup;
  readonly spreadUpper: PerSubgroup;
}

/**
 * Means and ranges, or means and standard deviations, of subgroups of two or more values, limits at three sigma with
 * exact constants. With unequal sizes the grand mean is weighted; standard deviations are pooled and each subgroup has
 * limits by its own A3, B3, B4; ranges give sigma as the mean of R/d2 and limits by each subgroup's own d2 and d3.
 * Source: Montgomery, Introduction to Statistical Quality Control, chapter on charts for variables;
 * NIST/SEMATECH e-Handbook 6.3.2.1. The unequal-size range chart is common practice.
 */
export function subgroupChart(subgroups: readonly (readonly number[])[], spread: SubgroupSpread): SubgroupChart {
  const summaries = subgroups.map((values) => moments(values));
  const means = summaries.map(({ mean }) => mean);
  const spreads = summaries.map(({ min, max, sd }) => (spread === 'range' ? max - min : sd));
  const sizes = summaries.map(({ n }) => n);
  const size = sizes[0]!;
  if (sizes.every((n) => n === size)) {
    const grandMean = moments(means).mean;
    const meanSpread = moments(spreads).mean;
    const limits = limitsFor(spread, size, grandMean, meanSpread);
    const divisor = spread === 'range' ? rangeMoments(size).mean : meanSdRatio(size);
    return { means, spreads, grandMean, meanSpread, sigma: meanSpread / divisor, ...limits };
  }
  return unequalChart(spread, means, spreads, sizes);
}

interface Limits {
  readonly meanLower: number;
  readonly meanUpper: number;
  readonly spreadLower: number;
  readonly spreadUpper: number;
}

/** Limits of a subgroup of size n from the mean spread of subgroups of that size. */
function limitsFor(spread: SubgroupSpread, n: number, grandMean: number, meanSpread: number): Limits {
  const { A2, A3, B3, B4, D3, D4 } = chartConstants(n);
  const [reach, low, high] = spread === 'range' ? [A2, D3, D4] : [A3, B3, B4];
  return {
    meanLower: grandMean - reach * meanSpread,
    meanUpper: grandMean + reach * meanSpread,
    spreadLower: low * meanSpread,
    spreadUpper: high * meanSpread,
  };
}

function unequalChart(
  spread: SubgroupSpread,
  means: readonly number[],
  spreads: readonly number[],
  sizes: readonly number[],
): SubgroupChart {
  const total = sizes.reduce((sum, n) => sum + n, 0);
  const grandMean = means.reduce((sum, mean, i) => sum + mean * sizes[i]!, 0) / total;
  const spreadSummary = spread === 'range' ? relativeRanges(spreads, sizes) : pooledSd(spreads, sizes);
  const limits = sizes.map((n) => limitsFor(spread, n, grandMean, spreadSummary.meanSpreadOf(n)));
  return {
    means,
    spreads,
    grandMean,
    meanSpread: spreadSummary.meanSpread,
    sigma: spreadSummary.sigma,
    meanLower: limits.map((limit) => limit.meanLower),
    meanUpper: limits.map((limit) => limit.meanUpper),
    spreadLower: limits.map((limit) => limit.spreadLower),
    spreadUpper: limits.map((limit) => limit.spreadUpper),
  };
}

interface SpreadSummary {
  readonly meanSpread: number;
  readonly sigma: number;
  /** The mean spread that a subgroup of this size is judged by. */
  readonly meanSpreadOf: (n: number) => number;
}

function relativeRanges(ranges: readonly number[], sizes: readonly number[]): SpreadSummary {
  const sigma = moments(ranges.map((range, i) => range / rangeMoments(sizes[i]!).mean)).mean;
  return { meanSpread: moments(ranges).mean, sigma, meanSpreadOf: (n) => sigma * rangeMoments(n).mean };
}

/** √(Σ (n − 1) s² / Σ (n − 1)), which the limits use in place of the mean standard deviation. */
function pooledSd(sds: readonly number[], sizes: readonly number[]): SpreadSummary {
  const squares = sds.reduce((sum, sd, i) => sum + (sizes[i]! - 1) * sd * sd, 0);
  const degreesOfFreedom = sizes.reduce((sum, n) => sum + n - 1, 0);
  const pooled = Math.sqrt(squares / degreesOfFreedom);
  return { meanSpread: pooled, sigma: pooled, meanSpreadOf: () => pooled };
}
