import type { GroupedSpread } from './cluster-bound.js';
import { moments } from './summary.js';

/**
 * Values in random groups, each freed of what it has in common with its group: (x_ij − m_i)/√W + (m_i − M)/√(W + n_i B), m_i
 * the mean of the group, M that of all groups, W and B the variances within and between groups. Where the model holds
 * they are independent and normal, so that a test of normality may be asked of them, which it may not of the values
 * themselves. Without a difference of groups they are the values; where values do not differ within groups, their means.
 * Source: the inverse root of the covariance of a group with equal correlations; Houseman, Ryan and Coull, J. American
 * Statistical Association 99 (2004) 383, for tests by such residuals.
 */
export function freedValues(
  groups: readonly (readonly number[])[],
  spread: Pick<GroupedSpread, 'mean' | 'within' | 'between'> | undefined,
): number[] {
  const { mean: centre = 0, within, between } = spread ?? {};
  if (within === undefined || between === undefined || between === 0) return groups.flat();
  if (within === 0) return groups.map((values) => moments(values).mean);
  return groups.flatMap((values) => {
    const { mean } = moments(values);
    const common = (mean - centre) / Math.sqrt(within + values.length * between);
    return values.map((value) => (value - mean) / Math.sqrt(within) + common);
  });
}
