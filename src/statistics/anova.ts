import { fUpper } from './distributions.js';
import { CompensatedSum, moments } from './summary.js';

/** The table of a one-way analysis of variance. */
export interface OneWayAnova {
  readonly betweenDf: number;
  readonly withinDf: number;
  readonly betweenSumSquares: number;
  readonly withinSumSquares: number;
  readonly betweenMeanSquare: number;
  readonly withinMeanSquare: number;
  readonly f: number;
  /** P(F > f) under equal means. */
  readonly p: number;
  readonly rSquared: number;
  readonly residualSd: number;
}

/**
 * One-way analysis of variance of two or more groups, sizes free, at least one group with two values and some spread
 * within the groups. Sums are taken about the first value and the grand mean, so that a large common offset costs no
 * digits. Source: NIST Statistical Reference Datasets, analysis of variance.
 */
export function oneWayAnova(groups: readonly (readonly number[])[]): OneWayAnova {
  // Differences of neighbouring doubles are exact: the offset goes before anything is added up.
  const origin = groups[0]![0]!;
  const summaries = groups.map((group) => moments(group.map((value) => value - origin)));
  const n = summaries.reduce((sum, group) => sum + group.n, 0);
  const total = new CompensatedSum();
  for (const group of summaries) total.add(group.n * group.mean);
  const grandMean = total.total / n;
  const between = new CompensatedSum();
  const within = new CompensatedSum();
  for (const group of summaries) {
    between.add(group.n * (group.mean - grandMean) ** 2);
    within.add(group.sumSquares);
  }
  const betweenDf = groups.length - 1;
  const withinDf = n - groups.length;
  const betweenMeanSquare = between.total / betweenDf;
  const withinMeanSquare = within.total / withinDf;
  const f = betweenMeanSquare / withinMeanSquare;
  return {
    betweenDf,
    withinDf,
    betweenSumSquares: between.total,
    withinSumSquares: within.total,
    betweenMeanSquare,
    withinMeanSquare,
    f,
    p: fUpper(f, betweenDf, withinDf),
    rSquared: between.total / (between.total + within.total),
    residualSd: Math.sqrt(withinMeanSquare),
  };
}
