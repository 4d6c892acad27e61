import { CalculationError } from '../../base/errors.js';
import { readReported } from '../../dossier/reported-value.js';
import { capabilityIndices } from '../../statistics/capability.js';
import { lowerBoundOf } from '../../statistics/capability-bounds.js';
import { fitDistribution } from '../../statistics/fit.js';
import type { CensoredValue, Limits } from '../../statistics/inputs.js';
import { type performance, stored } from '../performance.js';
import type { StudyRow } from './study-input.js';

type Described = ReturnType<typeof performance>;

/** Values of a build that were reported as below or above a bound, and those of which the number is known. */
export function valuesWithBounds(rows: readonly StudyRow[]): CensoredValue[] {
  return rows.flatMap(({ values, beside }) => [
    ...values.map(({ value }): CensoredValue => ({ value, censored: 'none' })),
    ...(beside.apart ?? []).flatMap(({ why, value }): CensoredValue[] => {
      if (why !== 'bound') return [];
      const { qualifier, number } = readReported(value);
      return [{ value: Number(number), censored: qualifier === '<' || qualifier === '≤' ? 'below' : 'above' }];
    }),
  ]);
}

/** Nothing is said of an index. */
export const NO_INDEX = { ppk: null, ppkLower: null, bounds: { independent: null, builds: null }, method: null };

/**
 * Bounds of which nobody can say whether the value keeps the limits: below a bound with a lower limit under it, or with an
 * upper one below it. What lies beyond the bound and the limit for certain is decided: it misses it.
 */
export const undecidedBounds = (values: readonly CensoredValue[], { lower, upper }: Limits): number =>
  values.filter(({ value, censored }) => {
    if (censored === 'none') return false;
    const [near, far] = censored === 'below' ? [upper, lower] : [lower, upper];
    const isBeyond = (limit: number) => (censored === 'below' ? value < limit : value > limit);
    if (far !== undefined) return !isBeyond(far);
    return near !== undefined && value !== near && !isBeyond(near);
  }).length;

/**
 * The same description where some values are only bounds: the others alone would be a selection, with a mean and a spread
 * that promise too much. Mean and spread are the most likely ones of all of them (docs/trade.md 5.3); what
 * the numbers alone tell of normality stays. Bounds tell how far builds differ no more than roughly, so that values of one build are taken as one:
 * builds count as (Σ n_i)²/Σ n_i² (Kish, Survey Sampling, 1965), which is their number where each has as many values.
 * @param sizes how many known values each build has.
 */
export function withBounds(
  found: Described,
  values: readonly CensoredValue[],
  sizes: readonly number[],
  limits: Limits,
): Described {
  const notes = found.notes.filter(({ code }) => code !== 'assumes normal values');
  const fitted = found.ppk === null ? undefined : mostLikely(values);
  if (fitted === undefined) return { ...found, ...NO_INDEX, mean: null, sd: null, spread: null, notes };
  const known = sizes.reduce((sum, size) => sum + size, 0);
  const builds = known ** 2 / sizes.reduce((sum, size) => sum + size ** 2, 0);
  const { mean, sd } = fitted;
  const ppk = capabilityIndices(mean, sd, limits).nearer;
  const counted = { effectiveValues: stored(builds), degreesOfFreedom: stored(builds - 1) };
  const boundOf = (design: typeof counted) => stored(lowerBoundOf(ppk, design, found.confidence));
  const independent = boundOf({ effectiveValues: known, degreesOfFreedom: known - 1 });
  const byBuilds = sizes.length < 2 ? null : boundOf(counted);
  return {
    ...found,
    ...{ mean: stored(mean), sd: stored(sd), ppk: stored(ppk), notes },
    spread:
      byBuilds === null
        ? null
        : { mean: stored(mean), sd: stored(sd), within: null, between: null, f: null, p: null, ...counted },
    ppkLower: byBuilds === null ? null : Math.min(independent, byBuilds),
    bounds: { independent, builds: byBuilds },
  };
}

/** Mean and standard deviation by maximum likelihood, this with the divisor of known values less one. */
function mostLikely(values: readonly CensoredValue[]): { readonly mean: number; readonly sd: number } | undefined {
  try {
    const { distribution } = fitDistribution(values, 'normal');
    if (distribution.name !== 'normal') return undefined;
    const { mean, sd } = distribution.parameters;
    const known = values.filter(({ censored }) => censored === 'none').length;
    return { mean, sd: sd * Math.sqrt(known / (known - 1)) };
  } catch (error) {
    if (error instanceof CalculationError) return undefined;
    throw error;
  }
}
