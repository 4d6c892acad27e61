import { DISTRIBUTIONS } from '../../base/distribution-names.js';
import type { Characteristic } from '../../kinds/specification.js';
import type { CapabilityPlan } from '../../kinds/trend/capability-plan.js';
import { capabilityIndices, percentileIndices } from '../../statistics/capability.js';
import { lowerBoundOf } from '../../statistics/capability-bounds.js';
import { groupedSums } from '../../statistics/cluster-bound.js';
import { type DistributionName, fitDistribution } from '../../statistics/fit.js';
import { CAPABILITY_SHARES, quantileOf } from '../../statistics/fitted-distributions.js';
import type { CensoredValue, Limits } from '../../statistics/inputs.js';
import { moments } from '../../statistics/summary.js';
import { oneSidedFactor, twoSidedFactor } from '../../statistics/tolerance.js';
import { varianceComponents } from '../../statistics/variance-components.js';
import { LEAST_VALUES_FOR_INDEX, limitsOf, performance, stored } from '../performance.js';
import type { StudyRow } from './study-input.js';
import { UNSTABLE } from './study-notes.js';
import type { FamilyIndex, Silent, StudyChart, StudyNote } from './study-result.js';
import { undecidedBounds, valuesWithBounds, withBounds } from './with-bounds.js';

/** Points in order without a signal before Cpk is stated (docs/trade.md 6.3). */
export const LEAST_POINTS_FOR_CPK = 20;
/** Asked for where a plan names no target. */
export const USUAL_TARGET = 1.33;
/** Share of the population that the tolerance interval holds. */
const CONTENT = 0.95;
/** Where more of all values than this part are only bounds, nobody tries whether they are normal. */
export const MOST_BOUNDS_TESTED = 0.1;
/** More builds than these are no plan for anybody. */
const MOST_BUILDS = 10_000;
/** Degrees of freedom of a spread from moving ranges, for each point but the first (docs/trade.md 6.3). */
const RANGE_FREEDOM = 0.62;
/** Distributions that take the place of the normal one, by percentiles. */
export const FITTED: readonly string[] = DISTRIBUTIONS.filter((name) => name !== 'normal');

export interface IndexAsked {
  readonly item: Characteristic;
  readonly plan: CapabilityPlan;
  /** Rows that the pool admits, in build order. */
  readonly rows: readonly StudyRow[];
  /** Of the same rows; without it no Cpk is stated. */
  readonly chart?: Pick<StudyChart, 'limits' | 'signals' | 'ranges' | 'points'> | undefined;
  /** What the study found beside the numbers. */
  readonly notes: readonly StudyNote[];
}

/** Index, bounds and intervals of the values of some builds, or why not. */
export function familyIndex({ item, plan, rows, chart, notes }: IndexAsked): FamilyIndex {
  const counted = rows.filter(({ values }) => values.length > 0);
  const builds = byBuild(counted);
  const groups = builds.map(({ values }) => values);
  const all = groups.flat();
  const bounded = rows.reduce((sum, row) => sum + row.bounds, 0);
  const total = all.length === 0 ? undefined : moments(all);
  const sums = groups.length === 0 ? undefined : groupedSums(groups);
  const pool = {
    ...{ n: all.length, lots: new Set(counted.map(({ lot }) => lot)).size, builds: groups.length },
    ...{ mean: total?.mean ?? null, sumSquaredDeviations: total?.sumSquares ?? null },
    ...{ min: total?.min ?? null, max: total?.max ?? null },
    sumSquaredWithinBuilds: sums?.withinSumSquares ?? null,
    buildSizes: (sums?.classes ?? []).map(({ size, groups: number, mean, sumSquaredDeviations }) => ({
      ...{ values: size, builds: number, mean, sumSquaredDeviations },
    })),
  };
  const limits = limitsOf(item);
  const isPlain = bounded === 0 && !FITTED.includes(plan.distribution.name);
  const values = isPlain ? [] : valuesWithBounds(rows);
  // The numbers alone are a selection: of more bounds than these they tell nothing of a distribution.
  const tested = bounded <= MOST_BOUNDS_TESTED * (all.length + bounded) ? groups : [];
  const found = performance(item, pool, { groups: tested, builds: extremesOf(rows), bounds: 0 }, plan);
  // A bound of which the number is not on record has no place among the values.
  const isLost = bounded > all.length || (bounded > 0 && values.length < all.length + bounded);
  const undecided = undecidedBounds(values, limits);
  const counts = isLost || undecided > 0 ? { ...found, ppk: null } : found;
  const sizes = groups.map(({ length }) => length);
  const known = bounded === 0 ? found : withBounds(counts, values, sizes, limits);
  const target = Number(plan.target ?? USUAL_TARGET);
  const percentile = isLost || undecided > 0 ? null : byPercentiles(plan.distribution.name, values, limits);
  const more = moreBuilds(known, pool, target);
  return {
    ...{ n: pool.n, lots: pool.lots, builds: pool.builds, bounded, undecided },
    ...known,
    reml: bounded === 0 ? components(groups) : null,
    ...cpkOf(known, limits, chart, notes, bounded),
    gauge: gaugeOf(plan, known, limits),
    percentile,
    tolerance: toleranceOf(known, limits),
    more: known.ppk !== null && known.ppk > target && (known.ppkLower ?? -1) < target ? more : null,
    says: saysOf(known, target, bounded),
    silent:
      known.ppk !== null || percentile !== null
        ? null
        : silentOf(known, { values: pool.n, bounded, areHidden: isLost || undecided > 0 }),
  };
}

type Described = ReturnType<typeof performance>;

/**
 * Able: the bound reaches what is asked. Not able: not even the index does. Between the two there are too few builds. Beside
 * bounds nobody is able by a distribution that could not be tried.
 */
function saysOf({ ppk, ppkLower, normality }: Described, target: number, bounded: number): FamilyIndex['says'] {
  if (ppk === null) return 'not stated';
  if (ppkLower !== null && ppkLower >= target) return bounded > 0 && normality === null ? 'not stated' : 'able';
  return ppk <= target ? 'not able' : 'too few';
}

/** Why there is no index of values that may be looked at together. */
function silentOf(
  { notes, distribution }: Described,
  { values, bounded, areHidden }: { readonly values: number; readonly bounded: number; readonly areHidden: boolean },
): Silent {
  const has = (...codes: Described['notes'][number]['code'][]) => notes.some(({ code }) => codes.includes(code));
  if (has('all equal')) return 'all equal';
  if (bounded > values) return 'bounds';
  if (values < LEAST_VALUES_FOR_INDEX) return 'too few values';
  if (has('not normal')) return 'not normal';
  return distribution !== 'normal' && !areHidden ? 'no fit' : 'bounds';
}

function byBuild(rows: readonly StudyRow[]) {
  const found = new Map<string, { lot: string; build: string; builtAt: string; values: number[] }>();
  for (const { lot, build, builtAt, values } of rows) {
    const key = `${lot}\n${build}`;
    const known = found.get(key) ?? { lot, build, builtAt, values: [] };
    found.set(key, known);
    known.values.push(...values.map(({ value }) => value));
  }
  return [...found.values()];
}

/** Least and greatest value that each build may have, those of which only a bound is known among them. */
function extremesOf(rows: readonly StudyRow[]) {
  return rows.flatMap((row) => {
    const { lot, build, builtAt } = row;
    if (row.bounds === 0 && row.values.length > 0) {
      const { n, min, max } = moments(row.values.map(({ value }) => value));
      return [{ lot, build, builtAt, n, mean: null, min, max, censored: 0 }];
    }
    const values = valuesWithBounds([row]);
    if (values.length === 0) return [];
    const least = values.map(({ value, censored }) => (censored === 'below' ? Number.NEGATIVE_INFINITY : value));
    const most = values.map(({ value, censored }) => (censored === 'above' ? Number.POSITIVE_INFINITY : value));
    const [min, max] = [Math.min(...least), Math.max(...most)];
    return [{ lot, build, builtAt, n: values.length, mean: null, min, max, censored: 0 }];
  });
}

function components(groups: readonly (readonly number[])[]): FamilyIndex['reml'] {
  const spreads = groups.some((group) => group.length > 1 && moments(group).sd > 0);
  if (groups.length < 2 || !spreads) return null;
  const { within, between } = varianceComponents(groups, 'reml');
  return { within: stored(Math.sqrt(within)), between: stored(Math.sqrt(between)) };
}

/**
 * Cpk by the spread from point to point. Of means of builds the spread of single values within them is added, so that both
 * indices speak of single values. Its bound counts as many values and degrees of freedom as the less certain of two: points,
 * and builds that differ.
 */
function cpkOf(
  { ppk, mean, spread, confidence }: Described,
  limits: Limits,
  chart: IndexAsked['chart'],
  notes: readonly StudyNote[],
  bounded: number,
): Pick<FamilyIndex, 'cpk' | 'noCpk'> {
  if (chart === undefined) return { cpk: null, noCpk: 'no limits' };
  if (ppk === null || mean === null) return { cpk: null, noCpk: 'no index' };
  if (spread === null) return { cpk: null, noCpk: 'one build' };
  const { limits: lines, signals, points } = chart;
  if (lines === null) return { cpk: null, noCpk: 'no limits' };
  // First, since the sentence on top tells of them.
  if (signals.length > 0) return { cpk: null, noCpk: 'signals' };
  if (bounded > 0) return { cpk: null, noCpk: 'bounds' };
  if (points.length < LEAST_POINTS_FOR_CPK) return { cpk: null, noCpk: 'too few points' };
  if (notes.some(({ code }) => UNSTABLE.includes(code))) return { cpk: null, noCpk: 'baseline' };
  if (notes.some(({ code }) => code === 'data before the plan')) return { cpk: null, noCpk: 'plan after data' };
  const ranges = points.slice(1).map(({ value }, index) => Math.abs(value - points[index]!.value));
  const ofPoints = (moments(ranges).mean * Math.sqrt(Math.PI)) / 2;
  const inverseSizes = points.reduce((sum, { size }) => sum + 1 / size, 0) / points.length;
  const sigma = Math.sqrt(ofPoints ** 2 + (1 - inverseSizes) * (spread.within ?? 0) ** 2);
  if (sigma === 0) return { cpk: null, noCpk: 'no index' };
  const value = capabilityIndices(mean, sigma, limits).nearer;
  const effectiveValues = Math.min(points.length, spread.effectiveValues);
  const degreesOfFreedom = Math.min(RANGE_FREEDOM * (points.length - 1), spread.degreesOfFreedom);
  const lower = lowerBoundOf(value, { effectiveValues, degreesOfFreedom }, confidence);
  return {
    cpk: { value: stored(value), lower: stored(lower), sigma: stored(sigma), points: points.length },
    noCpk: null,
  };
}

/** What of the spread is of the measurement, by the study that the plan rests on; an index has it in it (docs/trade.md 6.7). */
function gaugeOf({ gaugeSd }: CapabilityPlan, { sd }: Described, { lower, upper }: Limits): FamilyIndex['gauge'] {
  if (gaugeSd === undefined || sd === null || sd === 0) return null;
  const own = Number(gaugeSd);
  const tolerance = lower === undefined || upper === undefined ? null : upper - lower;
  return {
    sd: own,
    ofSpread: stored((own / sd) ** 2),
    ofTolerance: tolerance === null || tolerance <= 0 ? null : stored((6 * own) / tolerance),
  };
}

/** By the distribution that the plan fixed before the data; it has no exact bound. */
function byPercentiles(name: string, values: readonly CensoredValue[], limits: Limits): FamilyIndex['percentile'] {
  const all = values.flatMap(({ value, censored }) => (censored === 'none' ? [value] : []));
  if (!FITTED.includes(name) || all.length < LEAST_VALUES_FOR_INDEX || new Set(all).size === 1) return null;
  // These begin at zero: a value at or below it belongs to none of them.
  if (name !== 'gumbel' && values.some(({ value }) => value <= 0)) return null;
  const { distribution } = fitDistribution(values, name as DistributionName);
  const points = {
    low: quantileOf(distribution, CAPABILITY_SHARES.low),
    middle: quantileOf(distribution, CAPABILITY_SHARES.middle),
    high: quantileOf(distribution, CAPABILITY_SHARES.high),
  };
  const parameters = Object.entries(distribution.parameters).flatMap(([key, value]) =>
    value === undefined ? [] : [[key, stored(value)] as const],
  );
  return {
    ppk: stored(percentileIndices(points, limits).nearer),
    ...{ low: stored(points.low), middle: stored(points.middle), high: stored(points.high) },
    parameters: Object.fromEntries(parameters),
  };
}

/** With the builds as what is independent: as many values, and degrees of freedom, as they count for. */
function toleranceOf({ spread, ppk, confidence }: Described, { lower, upper }: Limits): FamilyIndex['tolerance'] {
  if (spread === null || ppk === null) return null;
  const n = Math.max(2, Math.floor(spread.effectiveValues));
  const design = { n, content: CONTENT, confidence, degreesOfFreedom: spread.degreesOfFreedom };
  const isTwoSided = lower !== undefined && upper !== undefined;
  const factor = isTwoSided ? twoSidedFactor(design, 'exact') : oneSidedFactor(design);
  return {
    content: CONTENT,
    factor: stored(factor),
    lower: lower === undefined ? null : stored(spread.mean - factor * spread.sd),
    upper: upper === undefined ? null : stored(spread.mean + factor * spread.sd),
  };
}

/** How many further builds with as many values and the same spread would bring the bound to the target. */
function moreBuilds(
  { ppk, spread, confidence }: Described,
  { n, builds }: { readonly n: number; readonly builds: number },
  target: number,
): FamilyIndex['more'] {
  if (ppk === null || spread === null) return null;
  const boundAt = (total: number) => {
    const share = total / builds;
    const clusters = {
      effectiveValues: spread.effectiveValues * share,
      degreesOfFreedom: spread.degreesOfFreedom * share,
    };
    const independent = { effectiveValues: n * share, degreesOfFreedom: n * share - 1 };
    return Math.min(lowerBoundOf(ppk, clusters, confidence), lowerBoundOf(ppk, independent, confidence));
  };
  const perBuild = stored(n / builds);
  if (boundAt(builds + MOST_BUILDS) < target) return { target, builds: null, perBuild };
  let [low, high] = [builds, builds + MOST_BUILDS];
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (boundAt(middle) >= target) high = middle;
    else low = middle;
  }
  return { target, builds: high - builds, perBuild };
}
