/** Two one-sided cumulative sums and how long each has been above 0. */
export interface CusumChart {
  readonly high: readonly number[];
  readonly low: readonly number[];
  readonly highRun: readonly number[];
  readonly lowRun: readonly number[];
}

/**
 * Tabular cumulative sums about a target: high_t = max(0, high_(t−1) + x − target − k), low_t = max(0, low_(t−1) + target
 * − k − x), both starting at 0; k, the allowance, has the unit of the data. The runs count the points since a sum was 0.
 * Source: NIST/SEMATECH e-Handbook 6.3.2.3; Montgomery, chapter on cumulative sum charts (runs).
 */
export function cusumChart(values: readonly number[], target: number, k: number): CusumChart {
  const high: number[] = [];
  const low: number[] = [];
  const highRun: number[] = [];
  const lowRun: number[] = [];
  values.forEach((value, i) => {
    high.push(Math.max(0, (high[i - 1] ?? 0) + (value - target) - k));
    low.push(Math.max(0, (low[i - 1] ?? 0) + (target - value) - k));
    highRun.push(high[i]! > 0 ? (highRun[i - 1] ?? 0) + 1 : 0);
    lowRun.push(low[i]! > 0 ? (lowRun[i - 1] ?? 0) + 1 : 0);
  });
  return { high, low, highRun, lowRun };
}
