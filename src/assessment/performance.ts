import type { CharacteristicHistory } from '../dossier/family-history.js';
import type { Characteristic } from '../kinds/specification.js';
import type { CapabilityPlan } from '../kinds/trend/capability-plan.js';
import { shareLowerBound } from '../statistics/attribute-sampling.js';
import { capabilityIndices } from '../statistics/capability.js';
import { exactLowerBound } from '../statistics/capability-bounds.js';
import { clusterLowerBound, groupedSpread } from '../statistics/cluster-bound.js';
import { freedValues } from '../statistics/freed-values.js';
import type { Limits } from '../statistics/inputs.js';
import { SHAPIRO_WILK_SIZES, shapiroWilk } from '../statistics/normality.js';
import type { CapabilityResult } from './assessment.js';
import type { CapabilityNote } from './reasons.js';

/** Below this many values an index says nothing (docs/trade.md 6.3): show the plot. */
export const LEAST_VALUES_FOR_INDEX = 10;
/** Where no plan states another one. */
const CONFIDENCE = 0.95;
/** Below this p of the test the values are not taken as normal (docs/trade.md 6.5). */
export const LEAST_P_OF_NORMAL = 0.05;

/** Nine significant digits: Math functions differ in the last bits between engines, and these numbers are stored. */
export const stored = (value: number): number => Number(value.toPrecision(9));
const storedOrNull = (value: number | undefined): number | null => (value === undefined ? null : stored(value));

/** The limits that an index is of: not one that no value can pass (docs/trade.md 5.4). */
export const limitsOf = ({ lower, upper, boundary }: Pick<Characteristic, 'lower' | 'upper' | 'boundary'>): Limits => ({
  ...(lower === undefined || boundary === 'lower' ? {} : { lower: Number(lower) }),
  ...(upper === undefined || boundary === 'upper' ? {} : { upper: Number(upper) }),
});

type Performance = Pick<
  CapabilityResult,
  | 'mean'
  | 'sd'
  | 'ppk'
  | 'ppkLower'
  | 'bounds'
  | 'spread'
  | 'normality'
  | 'within'
  | 'distribution'
  | 'target'
  | 'confidence'
  | 'method'
  | 'notes'
>;

interface Carried {
  /** Single values by build, for the test of normality. */
  readonly groups: readonly (readonly number[])[];
  readonly builds: CharacteristicHistory['builds'];
  /** How many values more were reported only as a bound. */
  readonly bounds: number;
}

/**
 * Mean, spread and index of the values of earlier builds, with lower bounds for independent values and for builds that
 * differ. Without a normal distribution there is no index.
 * @param carried what the lot file names besides the sums.
 * @param plan the signed one that was in force, which states confidence and distribution.
 */
export function performance(
  item: Characteristic,
  pool: CharacteristicHistory['pool'],
  { groups, builds, bounds }: Carried,
  plan: Pick<CapabilityPlan, 'confidence' | 'distribution' | 'target'> | undefined,
): Performance {
  const { n, mean, sumSquaredDeviations } = pool;
  const confidence = plan === undefined ? CONFIDENCE : Number(plan.confidence);
  const limits = limitsOf(item);
  const none = {
    ...{ mean: null, sd: null, ppk: null, ppkLower: null, bounds: { independent: null, builds: null } },
    ...{ spread: null, normality: null, confidence, method: null },
    within: keepingLimits(builds, limits, confidence),
    distribution: plan?.distribution.name ?? 'normal',
    target: plan?.target ?? null,
  };
  if (n < 2 || mean === null || sumSquaredDeviations === null) {
    return { ...none, notes: [{ code: 'too few for a spread', facts: { values: n } }] };
  }
  const sd = Math.sqrt(sumSquaredDeviations / (n - 1));
  const described = { ...none, mean: stored(mean), sd: stored(sd) };
  if (sd === 0) return { ...described, notes: [{ code: 'all equal', facts: {} }] };
  const { spread, bound } = byBuilds(pool, limits, confidence);
  const known = { ...described, spread, normality: normalityOf(groups, spread) };
  if (n < LEAST_VALUES_FOR_INDEX) {
    return { ...known, notes: [{ code: 'too few for an index', facts: { values: n, least: LEAST_VALUES_FOR_INDEX } }] };
  }
  // Without those that lie beyond what the method finds the others are a selection.
  if (bounds > 0) return { ...known, notes: [{ code: 'bounds among them', facts: { bounds } }] };
  const doubt = doubtOfNormal(known);
  if (doubt) return { ...known, notes: [doubt] };
  const ppk = capabilityIndices(mean, sd, limits).nearer;
  const independent = exactLowerBound(ppk, n, confidence);
  const twoSided = limits.lower !== undefined && limits.upper !== undefined;
  return {
    ...known,
    ppk: stored(ppk),
    // Builds of which only one is known tell nothing of how builds differ.
    ppkLower: bound === undefined ? null : stored(Math.min(independent, bound)),
    bounds: { independent: stored(independent), builds: storedOrNull(bound) },
    method: twoSided ? 'conservative for two limits' : 'exact for one limit',
    notes: [
      { code: 'performance, not capability', facts: {} },
      ...(bound === undefined ? [{ code: 'one build' as const, facts: {} }] : []),
      ...(known.normality === null ? [{ code: 'assumes normal values' as const, facts: {} }] : []),
    ],
  };
}

/** Builds as what is independent: no distribution is asked for, and each counts once. */
function keepingLimits(
  builds: Carried['builds'],
  { lower, upper }: Limits,
  confidence: number,
): CapabilityResult['within'] {
  const found = new Map<string, boolean>();
  for (const { lot, build, min, max } of builds) {
    if (min === null || max === null) continue;
    const keeps = !(lower !== undefined && min < lower) && !(upper !== undefined && max > upper);
    const name = `${lot}\n${build}`;
    found.set(name, keeps && found.get(name) !== false);
  }
  if (found.size === 0) return null;
  const keeping = [...found.values()].filter((keeps) => keeps).length;
  return { builds: found.size, keeping, shareLower: stored(shareLowerBound(keeping, found.size, confidence)) };
}

/** How values spread within and between builds, and the bound of the index that follows; nothing of a single build. */
function byBuilds(
  { buildSizes, sumSquaredWithinBuilds }: CharacteristicHistory['pool'],
  limits: Limits,
  confidence: number,
): { readonly spread: CapabilityResult['spread']; readonly bound?: number } {
  const classes = buildSizes.map(({ values, builds, ...rest }) => ({ size: values, groups: builds, ...rest }));
  if (classes.reduce((sum, { groups }) => sum + groups, 0) < 2) return { spread: null };
  const spread = groupedSpread({ classes, withinSumSquares: sumSquaredWithinBuilds ?? 0 });
  // Builds with equal means, one value each, or equal values throughout.
  if (spread.sd === 0) return { spread: null };
  const { lower, effectiveValues, degreesOfFreedom } = clusterLowerBound(spread, limits, confidence);
  const { within, between, f, p, mean, sd } = spread;
  const root = (variance: number | undefined) => (variance === undefined ? undefined : Math.sqrt(variance));
  return {
    spread: {
      ...{ mean: stored(mean), sd: stored(sd) },
      ...{ within: storedOrNull(root(within)), between: storedOrNull(root(between)) },
      ...{ f: storedOrNull(f), p: storedOrNull(p) },
      ...{ effectiveValues: stored(effectiveValues), degreesOfFreedom: stored(degreesOfFreedom) },
    },
    bound: lower,
  };
}

/** Of what is left of each value without what it has in common with its build: values of one build are not independent. */
function normalityOf(
  groups: readonly (readonly number[])[],
  spread: CapabilityResult['spread'],
): CapabilityResult['normality'] {
  const squared = (sd: number | null) => (sd === null ? undefined : sd ** 2);
  const freed = freedValues(
    groups,
    spread === null
      ? undefined
      : { mean: spread.mean, within: squared(spread.within), between: squared(spread.between) },
  );
  if (freed.length < LEAST_VALUES_FOR_INDEX || new Set(freed).size === 1) return null;
  const tested = freed.slice(-SHAPIRO_WILK_SIZES.largest);
  const { w, p } = shapiroWilk(tested);
  return { values: tested.length, w: stored(w), p: stored(p) };
}

/** Why the index of a normal distribution is not stated. */
function doubtOfNormal({
  distribution,
  normality,
}: Pick<Performance, 'distribution' | 'normality'>): CapabilityNote | undefined {
  if (distribution !== 'normal') return { code: 'other distribution', facts: {} };
  return normality !== null && normality.p < LEAST_P_OF_NORMAL ? { code: 'not normal', facts: {} } : undefined;
}
