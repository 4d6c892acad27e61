/** A chart of counts, or of fractions nonconforming when the sample sizes are given. */
export interface CountChart {
  /** Counts, or count / size. */
  readonly points: readonly number[];
  readonly centre: number;
  /** Standard deviation of each point under the centre. */
  readonly sigmas: readonly number[];
  readonly lower: readonly number[];
  readonly upper: readonly number[];
}

/**
 * Counts of nonconformities on equal areas of opportunity (c chart): centre c̄, limits c̄ ± 3 √c̄, not below 0.
 * Source: NIST/SEMATECH e-Handbook 6.3.3.1.
 */
export function countChart(counts: readonly number[]): CountChart {
  const centre = sum(counts) / counts.length;
  const sigma = Math.sqrt(centre);
  return {
    points: counts,
    centre,
    sigmas: counts.map(() => sigma),
    lower: counts.map(() => Math.max(0, centre - 3 * sigma)),
    upper: counts.map(() => centre + 3 * sigma),
  };
}

/**
 * Fractions nonconforming (p chart): centre Σ counts / Σ sizes, limits p̄ ± 3 √(p̄ (1 − p̄) / size) of each sample, kept
 * within 0 and 1. Source: NIST/SEMATECH e-Handbook 6.3.3.2.
 */
export function fractionChart(counts: readonly number[], sizes: readonly number[]): CountChart {
  const centre = sum(counts) / sum(sizes);
  const sigmas = sizes.map((size) => Math.sqrt((centre * (1 - centre)) / size));
  return {
    points: counts.map((count, i) => count / sizes[i]!),
    centre,
    sigmas,
    lower: sigmas.map((sigma) => Math.max(0, centre - 3 * sigma)),
    upper: sigmas.map((sigma) => Math.min(1, centre + 3 * sigma)),
  };
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
