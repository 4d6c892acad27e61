import { CalculationError } from '../base/errors.js';
import { normalCdf, normalQuantile } from './distributions.js';
import { requireProbability, requireValues } from './guards.js';
import { median } from './summary.js';

export interface TrendTest {
  /** Later minus earlier: pairs that rise less pairs that fall. */
  readonly s: number;
  /** Variance of S without a trend, corrected for ties. */
  readonly variance: number;
  /** (S ∓ 1)/√variance, 0 for S = 0. */
  readonly z: number;
  /** Two-sided, normal. */
  readonly p: number;
  /** Two-sided, exact; only up to ten values without ties. */
  readonly exactP?: number;
  /** Theil–Sen: median of the slopes of all pairs with different times. */
  readonly slope: number;
  readonly slopeLower: number;
  readonly slopeUpper: number;
  /** True when there are too few pairs for the confidence and the limits are the extreme slopes. */
  readonly limitsCutShort: boolean;
}

/** All pairs are kept in memory to find their median: 12.5 million at this size. */
export const MOST_VALUES = 5000;
const MOST_EXACT = 10;

/**
 * Mann–Kendall test for a trend, with the Theil–Sen slope and its distribution-free limits by rank: with
 * C = z √variance and N slopes, the limits are the slopes of rank (N − C)/2 and (N + C)/2 + 1, ranks rounded.
 * Source: Mann (1945), Kendall (1975); Sen, J. American Statistical Association 63 (1968); US EPA QA/G-9S (2006).
 * @throws CalculationError below three values or above 5000, for lists of different length, times or values that do not
 *   differ, or a confidence outside (0, 1).
 */
export function trendTest(values: readonly number[], times?: readonly number[], confidence = 0.95): TrendTest {
  requireValues(values, 3, 'values');
  requireProbability(confidence, 'confidence');
  if (values.length > MOST_VALUES) {
    throw new CalculationError('values', `found ${values.length} values, at most ${MOST_VALUES} are taken`);
  }
  const x = times ?? values.map((_, index) => index + 1);
  if (times !== undefined) requireTimes(times, values.length);
  const { s, slopes } = pairs(x, values);
  const variance = varianceOfS(tieSizes(x), tieSizes(values), values.length);
  if (!(variance > 0)) throw new CalculationError('values', 'the values do not differ: there is nothing to rank');
  const root = Math.sqrt(variance);
  const z = s === 0 ? 0 : (s - Math.sign(s)) / root;
  const hasTies = tieSizes(x).length > 0 || tieSizes(values).length > 0;
  return {
    s,
    variance,
    z,
    p: Math.min(1, 2 * normalCdf(-Math.abs(z))),
    ...(values.length <= MOST_EXACT && !hasTies && { exactP: exactTwoSided(values.length, s) }),
    slope: (slopes[(slopes.length - 1) >> 1]! + slopes[slopes.length >> 1]!) / 2,
    ...rankLimits(slopes, normalQuantile((1 + confidence) / 2) * root),
  };
}

/** P(S ≥ s) for n values without ties and without a trend, from the number of orders with each count of inversions. */
export function kendallUpperTail(n: number, s: number): number {
  const counts = inversionCounts(n);
  const pairCount = (n * (n - 1)) / 2;
  const total = counts.reduce((sum, count) => sum + count, 0);
  // S = pairs − 2 × inversions.
  return counts.reduce((sum, count, inversions) => (pairCount - 2 * inversions >= s ? sum + count : sum), 0) / total;
}

/** Two conventions of the intercept give different answers on the same data; the name says which. */
export function theilSenIntercept(
  x: readonly number[],
  y: readonly number[],
  slope: number,
  rule: 'medians' | 'median-of-residuals',
): number {
  requireValues(y, 1, 'y');
  requireTimes(x, y.length);
  if (rule === 'medians') return median(y) - slope * median(x);
  return median(y.map((value, index) => value - slope * x[index]!));
}

function requireTimes(times: readonly number[], expected: number): void {
  if (times.length !== expected) throw new CalculationError('x', `found ${times.length} times, expected ${expected}`);
  requireValues(times, 1, 'x');
  if (expected > 1 && times.every((time) => time === times[0])) {
    throw new CalculationError('x', 'the times do not differ');
  }
}

function pairs(x: readonly number[], y: readonly number[]): { s: number; slopes: Float64Array } {
  const n = x.length;
  const slopes = new Float64Array((n * (n - 1)) / 2);
  let used = 0;
  let s = 0;
  for (let i = 0; i < n; i++) {
    for (let j = i + 1; j < n; j++) {
      const run = x[j]! - x[i]!;
      if (run === 0) continue;
      const rise = y[j]! - y[i]!;
      s += Math.sign(rise) * Math.sign(run);
      // Adding 0 turns −0 into 0.
      slopes[used++] = rise / run + 0;
    }
  }
  return { s, slopes: slopes.subarray(0, used).sort() };
}

/** Variance of Kendall's S with ties in both lists. Source: Kendall, Rank Correlation Methods, chapter 4. */
function varianceOfS(x: readonly number[], y: readonly number[], n: number): number {
  const sum = (ties: readonly number[], term: (t: number) => number) => ties.reduce((total, t) => total + term(t), 0);
  const full = (t: number) => t * (t - 1) * (2 * t + 5);
  const two = (t: number) => t * (t - 1);
  const three = (t: number) => t * (t - 1) * (t - 2);
  return (
    (full(n) - sum(x, full) - sum(y, full)) / 18 +
    (sum(x, three) * sum(y, three)) / (9 * three(n)) +
    (sum(x, two) * sum(y, two)) / (2 * two(n))
  );
}

/** The sizes of the groups of equal values, singles left out. */
function tieSizes(values: readonly number[]): number[] {
  const counts = new Map<number, number>();
  for (const value of values) counts.set(value, (counts.get(value) ?? 0) + 1);
  return [...counts.values()].filter((count) => count > 1);
}

function exactTwoSided(n: number, s: number): number {
  return s === 0 ? 1 : Math.min(1, 2 * kendallUpperTail(n, Math.abs(s)));
}

/** How many orders of n things have 0, 1, 2, … inversions. */
function inversionCounts(n: number): number[] {
  if (!(Number.isInteger(n) && n >= 1 && n <= 100)) {
    throw new CalculationError('n', `found ${n}, expected a whole number from 1 to 100`);
  }
  let counts = [1];
  for (let size = 2; size <= n; size++) {
    const next = new Array<number>(counts.length + size - 1).fill(0);
    counts.forEach((count, inversions) => {
      for (let added = 0; added < size; added++) next[inversions + added]! += count;
    });
    counts = next;
  }
  return counts;
}

function rankLimits(slopes: Float64Array, reach: number) {
  const n = slopes.length;
  const lowerRank = Math.round((n - reach) / 2);
  const upperRank = Math.round((n + reach) / 2 + 1);
  return {
    slopeLower: slopes[Math.max(1, lowerRank) - 1]!,
    slopeUpper: slopes[Math.min(n, upperRank) - 1]!,
    limitsCutShort: lowerRank < 1 || upperRank > n,
  };
}
