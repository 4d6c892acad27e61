import { betaCdf } from './incomplete-beta.js';

/**
 * Estimated fraction nonconforming beyond one limit from its quality index Q = distance of the mean from the limit / sd:
 * the minimum-variance unbiased estimate I_x(n/2 − 1, n/2 − 1), x = max(0, ½ − Q √n / (2 (n − 1))), capped at x = 1.
 * n ≥ 3. Exactly 0 from Q = (n − 1)/√n on.
 * Source: MIL-STD-414 (1957), section B; Lieberman and Resnikoff, J. American Statistical Association 50 (1955).
 */
export function estimatedNonconforming(qualityIndex: number, n: number): number {
  const x = 0.5 - (qualityIndex * Math.sqrt(n)) / (2 * (n - 1));
  return betaCdf(Math.min(1, Math.max(0, x)), n / 2 - 1, n / 2 - 1);
}

/**
 * The largest fraction nonconforming (M) that belongs to an acceptability constant k at sample size n: the estimate at
 * Q = k. Source: MIL-STD-414, tables B-1 and B-3 (whose M belong to the unrounded k).
 */
export function maximumNonconformingOf(k: number, n: number): number {
  return estimatedNonconforming(k, n);
}
