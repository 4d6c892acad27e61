import { CalculationError } from '../../base/errors.js';
import { oneWayAnova } from '../../statistics/anova.js';
import { levene } from '../../statistics/equal-variance.js';
import { moments } from '../../statistics/summary.js';
import { LEAST_P_OF_NORMAL, stored } from '../performance.js';
import type { StudyRow } from './study-input.js';
import type { Trial } from './study-result.js';
import { typeOf } from './types-together.js';

type Factor = Trial['factor'];

/** By what the values of a pool may differ, and how each is called. */
export const FACTORS: Readonly<Record<Factor, (row: StudyRow) => string>> = {
  machine: ({ context }) => context.machine,
  'recipe group': ({ context }) => context.recipeGroup,
  recipe: ({ context: { recipe, recipeRevision } }) => `${recipe} ${recipeRevision}`,
  method: ({ context: { method, methodRevision } }) => `${method} ${methodRevision}`,
  'zone class': ({ context }) => context.zoneClass,
  supplier: ({ beside: { made } }) => suppliersOf(made?.powder ?? []),
  type: typeOf,
};

/** Those of whom some powder came, in the order of their names. */
export const suppliersOf = (powder: readonly { readonly supplier: string }[]): string =>
  [...new Set(powder.map(({ supplier }) => supplier))].sort().join(', ');

/** A group with fewer builds shows no spread of its own. */
const LEAST_BUILDS = 3;
const LEVEL = LEAST_P_OF_NORMAL;

/**
 * Whether what a plan pools belongs together, by each factor in which its rows differ: equal spread (Brown-Forsythe) and no
 * shift, both over the means of builds, since values of one build are not independent.
 * @param rows that the pool admits.
 */
export function poolTrials(rows: readonly StudyRow[]): Trial[] {
  const counted = rows
    .filter(({ values }) => values.length > 0)
    .map((row) => ({ row, n: row.values.length, mean: moments(row.values.map(({ value }) => value)).mean }));
  return (Object.keys(FACTORS) as Factor[]).flatMap((factor) => {
    const names = counted.map(({ row }) => FACTORS[factor](row));
    if (new Set(names).size < 2) return [];
    const groups = new Map<string, Map<string, { n: number; mean: number }>>();
    for (const [index, { row, n, mean }] of counted.entries()) {
      const name = names[index]!;
      const builds = groups.get(name) ?? new Map<string, { n: number; mean: number }>();
      groups.set(name, builds);
      const key = `${row.lot}\n${row.build}`;
      const known = builds.get(key) ?? { n: 0, mean: 0 };
      const all = known.n + n;
      builds.set(key, { n: all, mean: known.mean + ((mean - known.mean) * n) / all });
    }
    const named = [...groups]
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([name, builds]) => ({ name, means: [...builds.values()].map(({ mean }) => mean) }));
    return [trialOf(factor, named)];
  });
}

function trialOf(
  factor: Factor,
  named: readonly { readonly name: string; readonly means: readonly number[] }[],
): Trial {
  const groups = named.map(({ name, means }) => ({
    name,
    builds: means.length,
    mean: stored(moments(means).mean),
    sd: means.length < 2 ? null : stored(moments(means).sd),
  }));
  const tested = named.map(({ means }) => means).filter((means) => means.length >= LEAST_BUILDS);
  const spreads = tested.some((means) => moments(means).sd > 0);
  if (tested.length < 2 || !spreads) {
    return { factor, groups, variance: null, mean: null, verdict: 'too few builds to tell' };
  }
  const shift = oneWayAnova(tested);
  const mean = { f: stored(shift.f), p: stored(shift.p) };
  const variance = equalSpread(tested);
  const fails = shift.p < LEVEL || (variance !== null && variance.p < LEVEL);
  const isPartial = tested.length < named.length;
  const passed = isPartial ? 'too few builds to tell' : 'nothing against it';
  return { factor, groups, variance, mean, verdict: fails ? 'fails' : passed };
}

/** Null where the distances from the median do not differ within the groups, which says nothing of their spread. */
function equalSpread(groups: readonly (readonly number[])[]): Trial['variance'] {
  try {
    const { statistic, p } = levene(groups);
    return { f: stored(statistic), p: stored(p) };
  } catch (error) {
    if (error instanceof CalculationError) return null;
    throw error;
  }
}
