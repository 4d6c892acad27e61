import { CalculationError } from '../base/errors.js';
import { capabilityIndices } from './capability.js';
import { lowerBoundOf } from './capability-bounds.js';
import { fQuantile, fUpper } from './distributions.js';
import { type Limits, requireComputableConfidence } from './inputs.js';
import { moments } from './summary.js';

/** Groups of one size, such as builds with as many values each: how many there are, and what their means are. */
export interface SizeClass {
  readonly size: number;
  readonly groups: number;
  /** Mean of the means of these groups, and sum of squared deviations of the means from it. */
  readonly mean: number;
  readonly sumSquaredDeviations: number;
}

/** What a random-effects model needs of values in groups, however many groups there are. */
export interface GroupedSums {
  readonly classes: readonly SizeClass[];
  /** Sum of squared deviations of every value from the mean of its group. */
  readonly withinSumSquares: number;
}

/** The sums of single values in groups. */
export function groupedSums(groups: readonly (readonly number[])[]): GroupedSums {
  const summaries = groups.map(moments);
  const sizes = [...new Set(summaries.map(({ n }) => n))];
  return {
    classes: sizes.map((size) => {
      const means = moments(summaries.filter(({ n }) => n === size).map(({ mean }) => mean));
      return { size, groups: means.n, mean: means.mean, sumSquaredDeviations: means.sumSquares };
    }),
    withinSumSquares: summaries.reduce((sum, { sumSquares }) => sum + sumSquares, 0),
  };
}

/** Spread within and between groups, model x_ij = mean + group_i + error_ij with random groups. Closed form, by hand. */
export interface GroupedSpread {
  readonly n: number;
  readonly groups: number;
  /** Mean of the group means, each counted once. */
  readonly mean: number;
  /** k / Σ(1/n_i): the harmonic mean of the group sizes. */
  readonly harmonicSize: number;
  /** Variance of the group means, divisor k − 1. */
  readonly meansVariance: number;
  /** Variance within groups, divisor N − k; undefined where no group has two values. */
  readonly within: number | undefined;
  /** meansVariance − within / harmonicSize, not below 0; undefined with `within`. */
  readonly between: number | undefined;
  /** √(meansVariance + (1 − 1/harmonicSize) within): the standard deviation of a single value of any group. */
  readonly sd: number;
  /** Test of equal groups by the mean squares of the one-way analysis of variance; undefined without spread within. */
  readonly f: number | undefined;
  readonly p: number | undefined;
}

/**
 * Spread of values in groups of any sizes, from sums.
 * Source: Thomas and Hultquist, The Annals of Statistics 6 (1978) 582 (unweighted means); for groups of one size both
 * parts are those of the analysis of variance and, where `between` is positive, of the restricted likelihood.
 * @throws CalculationError below two groups.
 */
export function groupedSpread({ classes, withinSumSquares }: GroupedSums): GroupedSpread {
  const groups = classes.reduce((sum, one) => sum + one.groups, 0);
  if (groups < 2) throw new CalculationError('groups', `found ${groups} groups, needs at least 2`);
  const n = classes.reduce((sum, one) => sum + one.groups * one.size, 0);
  const mean = weighted(classes, ({ groups: k }) => k);
  const grandMean = weighted(classes, ({ groups: k, size }) => k * size);
  const squaresAbout = (centre: number, weight: (one: SizeClass) => number) =>
    classes.reduce(
      (sum, one) => sum + weight(one) * (one.sumSquaredDeviations + one.groups * (one.mean - centre) ** 2),
      0,
    );
  const meansVariance = squaresAbout(mean, () => 1) / (groups - 1);
  const harmonicSize = groups / classes.reduce((sum, one) => sum + one.groups / one.size, 0);
  const within = n === groups ? undefined : withinSumSquares / (n - groups);
  const betweenMeanSquare = squaresAbout(grandMean, ({ size }) => size) / (groups - 1);
  const f = within === undefined || within === 0 ? undefined : betweenMeanSquare / within;
  return {
    ...{ n, groups, mean, harmonicSize, meansVariance, within, f },
    between: within === undefined ? undefined : Math.max(0, meansVariance - within / harmonicSize),
    sd: Math.sqrt(meansVariance + (1 - 1 / harmonicSize) * (within ?? 0)),
    p: f === undefined ? undefined : fUpper(f, groups - 1, n - groups),
  };
}

const weighted = (classes: readonly SizeClass[], weight: (one: SizeClass) => number): number =>
  classes.reduce((sum, one) => sum + weight(one) * one.mean, 0) / classes.reduce((sum, one) => sum + weight(one), 0);

export interface ClusterBound {
  /** The index from mean and standard deviation of `groupedSpread`. */
  readonly estimate: number;
  readonly lower: number;
  /** So many independent values would tell the mean as well. */
  readonly effectiveValues: number;
  /** Satterthwaite degrees of freedom of the standard deviation. */
  readonly degreesOfFreedom: number;
}

/**
 * One-sided lower confidence bound of an index (Ppl or Ppu; of two limits the nearer one, conservative) of a normal
 * characteristic whose values lie in random groups. The share r of the variance that lies between groups is taken at its
 * upper confidence bound: q = max(0, (h V/W / F − 1)/h) with h the harmonic size, V the variance of the means, W that
 * within, F the quantile of F(k − 1, N − k) at 1 − confidence; r = q/(1 + q). Then a = r + (1 − r)/h, b = 1 − a,
 * effective values k/a, degrees of freedom 1/(a²/(k − 1) + b²/(N − k)), and the bound is that of so many independent
 * values with so many degrees of freedom by the noncentral t. One value in each group gives the bound of independent values.
 * Source: Mee and Owen, J. American Statistical Association 78 (1983) 901, who take the share at a lower confidence, so
 * that this bound lies below theirs; for groups of several sizes Krishnamoorthy and Mathew, Statistical Tolerance Regions
 * (2009), chapter 5.
 * @throws CalculationError when the values do not differ, or without a limit.
 */
export function clusterLowerBound(spread: GroupedSpread, limits: Limits, confidence: number): ClusterBound {
  requireComputableConfidence(confidence);
  const { n, groups, mean, sd, harmonicSize, within } = spread;
  const estimate = capabilityIndices(mean, sd, limits).nearer;
  const share = within === undefined ? 1 : shareBetween({ ...spread, within }, confidence);
  const ofMeans = share + (1 - share) / harmonicSize;
  const ofErrors = 1 - ofMeans;
  const degreesOfFreedom =
    1 / (ofMeans ** 2 / (groups - 1) + (within === undefined ? 0 : ofErrors ** 2 / (n - groups)));
  const effectiveValues = groups / ofMeans;
  const lower = lowerBoundOf(estimate, { effectiveValues, degreesOfFreedom }, confidence);
  return { estimate, lower, effectiveValues, degreesOfFreedom };
}

/** Upper confidence bound of the share of the variance that lies between groups; 1 where nothing varies within them. */
function shareBetween(
  { n, groups, harmonicSize, meansVariance, within }: GroupedSpread & { readonly within: number },
  confidence: number,
): number {
  if (within === 0) return 1;
  const ratio = (harmonicSize * meansVariance) / within / fQuantile(1 - confidence, groups - 1, n - groups);
  const odds = Math.max(0, (ratio - 1) / harmonicSize);
  return odds / (1 + odds);
}
