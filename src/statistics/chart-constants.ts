import { logGamma, stirlingRemainder } from './log-gamma.js';
import { rangeMoments } from './studentized-range.js';

/** Control-chart constants for subgroups of n normal values, exact rather than as printed in tables. */
export interface ChartConstants {
  readonly d2: number;
  readonly d3: number;
  readonly c4: number;
  readonly A2: number;
  readonly A3: number;
  readonly B3: number;
  readonly B4: number;
  readonly B5: number;
  readonly B6: number;
  readonly D1: number;
  readonly D2: number;
  readonly D3: number;
  readonly D4: number;
  readonly E2: number;
}

/**
 * All constants of a subgroup size n ≥ 2, limits at three standard deviations, lower ones not below 0.
 * Tables in print computed D3 and D4 from rounded d2 and d3 and differ in the last digit (n = 3, 18, 19, 22, 24).
 * Source: ASTM Manual on Presentation of Data and Control Chart Analysis; Montgomery, appendix VI (definitions).
 */
export function chartConstants(n: number): ChartConstants {
  const { mean: d2, sd: d3 } = rangeMoments(n);
  const c4 = meanSdRatio(n);
  const spreadOfSd = Math.sqrt(1 - c4 * c4);
  return {
    d2,
    d3,
    c4,
    A2: 3 / (d2 * Math.sqrt(n)),
    A3: 3 / (c4 * Math.sqrt(n)),
    B3: Math.max(0, 1 - (3 * spreadOfSd) / c4),
    B4: 1 + (3 * spreadOfSd) / c4,
    B5: Math.max(0, c4 - 3 * spreadOfSd),
    B6: c4 + 3 * spreadOfSd,
    D1: Math.max(0, d2 - 3 * d3),
    D2: d2 + 3 * d3,
    D3: Math.max(0, 1 - (3 * d3) / d2),
    D4: 1 + (3 * d3) / d2,
    E2: 3 / d2,
  };
}

/** c4 = E(s)/σ = √(2/(n − 1)) Γ(n/2)/Γ((n − 1)/2), for n ≥ 2. */
export function meanSdRatio(n: number): number {
  const half = (n - 1) / 2;
  if (half < 12) return Math.exp(logGamma(half + 0.5) - logGamma(half) - 0.5 * Math.log(half));
  // The large terms of Stirling's formula cancelled by hand.
  const logRatio = half * Math.log1p(0.5 / half) - 0.5;
  return Math.exp(logRatio + stirlingRemainder(half + 0.5) - stirlingRemainder(half));
}
