import { type DistributionName, fitDistribution } from '../../statistics/fit.js';
import { quantileOf } from '../../statistics/fitted-distributions.js';
import { freedValues } from '../../statistics/freed-values.js';
import { expectedShares } from '../../statistics/probability-plot.js';
import { moments } from '../../statistics/summary.js';
import { stored } from '../performance.js';
import { FITTED, MOST_BOUNDS_TESTED } from './family-index.js';
import { FACTORS } from './pool-trials.js';
import type { StudyInput, StudyRow } from './study-input.js';
import type { FamilyIndex, FamilyStudy } from './study-result.js';
import { typesTogether } from './types-together.js';

/** Values in order against where they would lie if their distribution were the one that the plan names. */
export interface ProbabilityPoints {
  /** Of which group alone, where the pool fails; empty of all together. */
  readonly group: string;
  readonly distribution: string;
  /** Values as they are, freed of what those of one build have in common, in standard deviations, or means of builds. */
  readonly are: 'values' | 'freed' | 'means';
  readonly points: readonly { readonly expected: number; readonly value: number }[];
  /** Value at an expected one: start + slope × expected. */
  readonly line: { readonly start: number; readonly slope: number };
  /** Values that are only bounds: they have no place among the others. */
  readonly bounds: number;
}

/** Fewer values lie on nearly every line. */
const LEAST_VALUES = 5;

/**
 * Probability plots of a study: of all values together, or of each group alone where the pool fails. None where values are
 * too few, do not differ, or are bounds so often that the numbers alone tell nothing of a distribution.
 */
export function probabilityPoints(input: StudyInput, study: FamilyStudy): ProbabilityPoints[] {
  const admitted = input.rows.filter((_, index) => study.listed[index]!.leftOut === null);
  const { rows } = typesTogether(input, admitted).indexed;
  if (study.split.length === 0) return plotOf('', rows, study.index);
  return study.split.flatMap(({ factor, name, index }) =>
    plotOf(
      `${factor} ${name}`,
      rows.filter((row) => FACTORS[factor](row) === name),
      index,
    ),
  );
}

function plotOf(group: string, rows: readonly StudyRow[], index: FamilyIndex): ProbabilityPoints[] {
  const { distribution, bounded: bounds, spread } = index;
  const builds = new Map<string, number[]>();
  for (const { lot, build, values } of rows) {
    const name = `${lot}\n${build}`;
    if (values.length > 0) builds.set(name, [...(builds.get(name) ?? []), ...values.map(({ value }) => value)]);
  }
  const groups = [...builds.values()];
  const all = groups.flat();
  const isFitted = FITTED.includes(distribution);
  if (all.length < LEAST_VALUES || new Set(all).size === 1 || isMostlyBounds(all.length, bounds, isFitted)) return [];
  const named = { group, distribution, bounds };
  if (isFitted) {
    if (distribution !== 'gumbel' && all.some((value) => value <= 0)) return [];
    const fitted = fitDistribution(
      all.map((value) => ({ value, censored: 'none' as const })),
      distribution as DistributionName,
    ).distribution;
    const points = inOrder(all, (share) => quantileOf(fitted, share));
    return [{ ...named, are: 'values', points, line: { start: 0, slope: 1 } }];
  }
  const squared = (sd: number | null) => (sd === null ? undefined : sd ** 2);
  const parts = spread && { mean: spread.mean, within: squared(spread.within), between: squared(spread.between) };
  const freed = freedValues(groups, parts ?? undefined);
  if (freed.length < LEAST_VALUES || new Set(freed).size === 1) return [];
  const hasParts = spread !== null && spread.within !== null && (spread.between ?? 0) > 0;
  const are = !hasParts ? 'values' : spread.within === 0 ? 'means' : 'freed';
  const { mean, sd } = moments(freed);
  const standard = { name: 'normal', parameters: { mean: 0, sd: 1 } } as const;
  const points = inOrder(freed, (share) => quantileOf(standard, share));
  return [{ ...named, are, points, line: { start: stored(mean), slope: stored(sd) } }];
}

/** As for the test of normality: of more bounds the numbers alone are a selection. A fit would need them all. */
const isMostlyBounds = (known: number, bounds: number, isFitted: boolean): boolean =>
  isFitted ? bounds > 0 : bounds > MOST_BOUNDS_TESTED * (known + bounds);

function inOrder(values: readonly number[], quantile: (share: number) => number): ProbabilityPoints['points'] {
  const shares = expectedShares(values.length);
  return values
    .toSorted((a, b) => a - b)
    .map((value, index) => ({ expected: stored(quantile(shares[index]!)), value: stored(value) }));
}
