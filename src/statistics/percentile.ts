import { requireProbability, requireValues } from './guards.js';

/**
 * The rules by which a sample percentile is read off the ordered values, numbered as Hyndman and Fan number them.
 * Type 6 is the p(n + 1) rule of the NIST/SEMATECH e-Handbook, type 7 that of spreadsheets.
 */
export type PercentileRule = 1 | 4 | 5 | 6 | 7 | 8 | 9;

/** Position h of the percentile among the ordered values 1..n, as h = n p + a + b p. */
const POSITIONS: Readonly<Record<Exclude<PercentileRule, 1>, (n: number, p: number) => number>> = {
  4: (n, p) => n * p,
  5: (n, p) => n * p + 0.5,
  6: (n, p) => (n + 1) * p,
  7: (n, p) => (n - 1) * p + 1,
  8: (n, p) => (n + 1 / 3) * p + 1 / 3,
  9: (n, p) => (n + 0.25) * p + 0.375,
};

/**
 * Percentile of a sample by a named rule: the ordered value at position h, between two places in proportion, never
 * beyond the smallest or largest value. Six answers are in use for one data set, so the rule must be printed with it.
 * Source: Hyndman and Fan, The American Statistician 50 (1996).
 * @throws CalculationError for an empty list, a value that is not finite, or p outside (0, 1).
 */
export function samplePercentile(values: readonly number[], p: number, rule: PercentileRule): number {
  requireValues(values, 1, 'values');
  requireProbability(p, 'p');
  const ordered = Float64Array.from(values).sort();
  const n = ordered.length;
  if (rule === 1) return ordered[Math.max(0, Math.ceil(n * p) - 1)]!;
  const position = Math.min(n, Math.max(1, POSITIONS[rule](n, p)));
  const place = Math.floor(position);
  const below = ordered[place - 1]!;
  const above = ordered[Math.min(place, n - 1)]!;
  return below + (position - place) * (above - below);
}
