import { CalculationError } from '../base/errors.js';
import { oneWayAnova } from './anova.js';
import { requireValues } from './guards.js';
import { requireSpread } from './inputs.js';
import { moments } from './summary.js';

export type VarianceMethod = 'anova' | 'reml' | 'ml';

export interface VarianceComponents {
  /** anova: mean of all values; reml and ml: group means weighted with their estimated precision. */
  readonly grandMean: number;
  /** Variance between groups; with `anova` it can be negative and is given as it is. */
  readonly between: number;
  readonly within: number;
  /** between / (between + within). */
  readonly intraclassCorrelation: number;
  /** −2 ln of the maximised (restricted) likelihood; absent for `anova`. */
  readonly minusTwoLogLikelihood?: number;
}

/**
 * Variance between and within groups of any sizes, model x_ij = mean + group_i + error_ij with random groups.
 * - anova: within = MS_within, between = (MS_between − MS_within)/n0, n0 = (N − Σ n_i²/N)/(k − 1).
 * - reml, ml: maximum of the restricted or full likelihood of normal groups and errors with between ≥ 0. At the edge
 *   (between = 0) the within variance is that of all values together, not MS_within.
 * Source: Searle, Casella and McCulloch, Variance Components (1992), chapters 3 and 6.
 * @throws CalculationError below two groups, for an empty group, when no group has two values, or when the values do not
 *   differ within the groups.
 */
export function varianceComponents(groups: readonly (readonly number[])[], method: VarianceMethod): VarianceComponents {
  requireReplicates(groups);
  const table = oneWayAnova(groups);
  requireSpread(table.withinMeanSquare, 'groups');
  if (method !== 'anova') return likelihoodComponents(groups, table.withinSumSquares, method);
  const all = groups.flat();
  const squaredSizes = groups.reduce((sum, { length }) => sum + length * length, 0);
  const effectiveSize = (all.length - squaredSizes / all.length) / (groups.length - 1);
  const within = table.withinMeanSquare;
  const between = (table.betweenMeanSquare - within) / effectiveSize;
  return { grandMean: moments(all).mean, between, within, intraclassCorrelation: between / (between + within) };
}

interface Group {
  readonly n: number;
  readonly mean: number;
}

/** All that the likelihood needs: group sizes and means about an origin, and the squares within. */
interface Statistics {
  readonly groups: readonly Group[];
  readonly withinSumSquares: number;
  /** Divisor of the pooled squares: N − 1 (restricted) or N. */
  readonly divisor: number;
  readonly restricted: boolean;
}

interface Profile {
  readonly mean: number;
  readonly within: number;
  readonly minusTwoLogLikelihood: number;
  /** Slope of −2 ln L in the ratio. */
  readonly slope: number;
}

function likelihoodComponents(
  groups: readonly (readonly number[])[],
  withinSumSquares: number,
  method: 'reml' | 'ml',
): VarianceComponents {
  const origin = groups[0]![0]!;
  const summaries = groups.map((group) => moments(group.map((value) => value - origin)));
  const n = summaries.reduce((sum, group) => sum + group.n, 0);
  const restricted = method === 'reml';
  const statistics = { groups: summaries, withinSumSquares, divisor: restricted ? n - 1 : n, restricted };
  const ratio = bestRatio(statistics);
  const { mean, within, minusTwoLogLikelihood } = profileAt(ratio, statistics);
  return {
    grandMean: origin + mean,
    between: ratio * within,
    within,
    intraclassCorrelation: ratio / (1 + ratio),
    minusTwoLogLikelihood,
  };
}

/** Mean and within variance that are best for a given ratio between/within, and what is left of the likelihood. */
function profileAt(ratio: number, { groups, withinSumSquares, divisor, restricted }: Statistics): Profile {
  let weights = 0;
  let weightedMeans = 0;
  let squaredWeights = 0;
  let logDeterminant = 0;
  for (const { n, mean } of groups) {
    const weight = n / (1 + n * ratio);
    weights += weight;
    weightedMeans += weight * mean;
    squaredWeights += weight * weight;
    logDeterminant += Math.log1p(n * ratio);
  }
  const mean = weightedMeans / weights;
  let squares = withinSumSquares;
  let squaresSlope = 0;
  for (const group of groups) {
    const weight = group.n / (1 + group.n * ratio);
    const deviation = weight * (group.mean - mean);
    squares += deviation * (group.mean - mean);
    squaresSlope += deviation * deviation;
  }
  const within = squares / divisor;
  const rest = restricted ? Math.log(weights) : 0;
  return {
    mean,
    within,
    minusTwoLogLikelihood: divisor * (Math.log(2 * Math.PI * within) + 1) + logDeterminant + rest,
    slope: weights - (restricted ? squaredWeights / weights : 0) - (divisor * squaresSlope) / squares,
  };
}

/** Ratios tried, in units of one over the mean group size. */
const SMALLEST_RATIO = 1e-6;
const LARGEST_RATIO = 1e12;
const STEPS_PER_DECADE = 4;

/** The ratio with the lowest −2 ln L: every place where the slope turns from falling to rising is looked at. */
function bestRatio(statistics: Statistics): number {
  const meanSize = statistics.groups.reduce((sum, { n }) => sum + n, 0) / statistics.groups.length;
  const slope = (ratio: number) => profileAt(ratio, statistics).slope;
  const height = (ratio: number) => profileAt(ratio, statistics).minusTwoLogLikelihood;
  let best = 0;
  let low = 0;
  let lowSlope = slope(0);
  const steps = Math.round(Math.log10(LARGEST_RATIO / SMALLEST_RATIO) * STEPS_PER_DECADE);
  for (let step = 0; step <= steps; step++) {
    const high = (SMALLEST_RATIO * 10 ** (step / STEPS_PER_DECADE)) / meanSize;
    const highSlope = slope(high);
    if (lowSlope < 0 && highSlope >= 0) {
      const candidate = bisect(slope, low, high);
      if (height(candidate) < height(best)) best = candidate;
    }
    low = high;
    lowSlope = highSlope;
  }
  return best;
}

/** Where a slope turns from falling to rising, to the last digits. */
function bisect(slope: (ratio: number) => number, low: number, high: number): number {
  let from = low;
  let to = high;
  for (let step = 0; step < 120; step++) {
    const middle = (from + to) / 2;
    if (middle <= from || middle >= to) break;
    if (slope(middle) < 0) from = middle;
    else to = middle;
  }
  return (from + to) / 2;
}

function requireReplicates(groups: readonly (readonly number[])[]): void {
  if (groups.length < 2) throw new CalculationError('groups', `found ${groups.length} groups, needs at least 2`);
  groups.forEach((group, index) => {
    requireValues(group, 1, `groups.${index}`);
  });
  if (groups.every(({ length }) => length === 1)) {
    throw new CalculationError('groups', 'at least one group needs two values');
  }
}
