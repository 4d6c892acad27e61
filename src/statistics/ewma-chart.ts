/** Limits that hold from the start, or those that hold after many points. */
export type EwmaLimits = 'steady' | 'exact';

export interface EwmaDesign {
  readonly target: number;
  /** Standard deviation of single values. */
  readonly sigma: number;
  /** Weight of the newest value, 0 < lambda ≤ 1. */
  readonly lambda: number;
  /** Half-width of the limits in standard deviations of the plotted point. */
  readonly width: number;
  readonly limits: EwmaLimits;
}

export interface EwmaChart {
  readonly points: readonly number[];
  readonly lower: readonly number[];
  readonly upper: readonly number[];
}

/**
 * Exponentially weighted moving average z_t = lambda x_t + (1 − lambda) z_(t−1), z_0 = target.
 * Steady limits target ± width sigma √(lambda / (2 − lambda)); exact ones with the factor √(1 − (1 − lambda)^(2t)).
 * Source: NIST/SEMATECH e-Handbook 6.3.2.4; Lucas and Saccucci, Technometrics 32 (1990).
 */
export function ewmaChart(values: readonly number[], design: EwmaDesign): EwmaChart {
  const { target, sigma, lambda, width, limits } = design;
  const points: number[] = [];
  const lower: number[] = [];
  const upper: number[] = [];
  const steadyReach = width * sigma * Math.sqrt(lambda / (2 - lambda));
  let point = target;
  values.forEach((value, i) => {
    point = lambda * value + (1 - lambda) * point;
    const settled = limits === 'steady' ? 1 : 1 - (1 - lambda) ** (2 * (i + 1));
    const reach = steadyReach * Math.sqrt(settled);
    points.push(point);
    lower.push(target - reach);
    upper.push(target + reach);
  });
  return { points, lower, upper };
}
