import { CalculationError } from '../base/errors.js';
import { oneWayAnova } from './anova.js';
import { chiSquareUpper } from './distributions.js';
import { requireValues } from './guards.js';
import { median, moments } from './summary.js';

export interface Test {
  readonly statistic: number;
  readonly p: number;
}

/**
 * Bartlett's test of equal variances: [(N − k) ln s_p² − Σ (n_i − 1) ln s_i²] / C against chi-square with k − 1 degrees
 * of freedom, C = 1 + (Σ 1/(n_i − 1) − 1/(N − k)) / (3(k − 1)). Sensitive to values that are not normal.
 * Source: NIST/SEMATECH e-Handbook 1.3.5.7.
 * @throws CalculationError below two groups, for a group below two values, or one whose values do not differ.
 */
export function bartlett(groups: readonly (readonly number[])[]): Test {
  requireGroups(groups);
  const summaries = groups.map((group) => ({ df: group.length - 1, ...moments(group) }));
  summaries.forEach(({ sumSquares }, index) => {
    if (!(sumSquares > 0)) {
      throw new CalculationError(`groups.${index}`, 'the values of this group do not differ: its variance is zero');
    }
  });
  const k = groups.length;
  const df = summaries.reduce((sum, each) => sum + each.df, 0);
  const pooled = summaries.reduce((sum, each) => sum + each.sumSquares, 0) / df;
  // ln(s_p²/s_i²) in place of the difference of two large sums.
  const excess = summaries.reduce((sum, each) => sum + each.df * Math.log((pooled * each.df) / each.sumSquares), 0);
  const correction = 1 + (summaries.reduce((sum, each) => sum + 1 / each.df, 0) - 1 / df) / (3 * (k - 1));
  const statistic = Math.max(0, excess / correction);
  return { statistic, p: chiSquareUpper(statistic, k - 1) };
}

/**
 * Levene's test of equal variances about the median (Brown and Forsythe): one-way analysis of variance of |x − median|.
 * Source: NIST/SEMATECH e-Handbook 1.3.5.10.
 * @throws CalculationError below two groups, for a group below two values, or when the distances from the median do not
 *   differ within the groups.
 */
export function levene(groups: readonly (readonly number[])[]): Test {
  requireGroups(groups);
  const distances = groups.map((group) => {
    const centre = median(group);
    return group.map((value) => Math.abs(value - centre));
  });
  if (groups.every(({ length }) => length === 2)) {
    throw new CalculationError('groups', 'the test about the median needs a group with three values or more');
  }
  const table = oneWayAnova(distances);
  if (!(table.withinSumSquares > 0)) {
    throw new CalculationError('groups', 'the distances from the median do not differ within the groups');
  }
  return { statistic: table.f, p: table.p };
}

function requireGroups(groups: readonly (readonly number[])[]): void {
  if (groups.length < 2) throw new CalculationError('groups', `found ${groups.length} groups, needs at least 2`);
  groups.forEach((group, index) => {
    requireValues(group, 2, `groups.${index}`);
  });
}
