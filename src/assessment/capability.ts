import type { Facts } from '../dossier/facts.js';
import { revisionKey } from '../dossier/facts.js';
import type { CharacteristicHistory, FamilyValue } from '../dossier/family-history.js';
import { excludedBecause, poolOfPlan } from '../dossier/pool.js';
import type { Characteristic } from '../kinds/specification.js';
import type { CapabilityPlan } from '../kinds/trend/capability-plan.js';
import { RUN_RULES, type RunRule } from '../statistics/run-rules.js';
import { beyondLimits, inOrder, patternSignals } from '../statistics/signals.js';
import type { CapabilityResult, HistoryPoint } from './assessment.js';
import { baselineLimits, groupsOf, pointsOf } from './family/points.js';
import type { OwnValues } from './own-history.js';
import { performance, stored } from './performance.js';
import type { CapabilityNote } from './reasons.js';
import { type AppliedLimits, strictestOf } from './study-limits.js';

const NO_HISTORY: Pick<CharacteristicHistory, 'pool' | 'excluded' | 'takenOut' | 'last'> = {
  pool: {
    ...{ n: 0, lots: 0, builds: 0, mean: null, sumSquaredDeviations: null, min: null, max: null },
    ...{ sumSquaredWithinBuilds: null, buildSizes: [] },
  },
  excluded: [],
  takenOut: { values: 0, last: [] },
  last: [],
};

/**
 * Performance of the family in one characteristic, over its earlier builds. Values of this lot are in no mean and no
 * index: they are shown, and tested against the limits of the chart.
 * @param own what `ownValues` gives of the lot.
 * @param applied limits by which the lot is judged: the index is told against them too.
 */
export function familyCapability(
  facts: Pick<Facts, 'lot' | 'history' | 'capabilityPlans'>,
  item: Characteristic,
  own: readonly OwnValues[],
  applied: readonly AppliedLimits[] = [],
): CapabilityResult {
  const known = facts.history?.characteristics.find((one) => one.characteristic === item.characteristic);
  const { pool, excluded, takenOut, last } = known ?? NO_HISTORY;
  const plan = known?.plan;
  const document = plan && facts.capabilityPlans.get(revisionKey(plan.plan, plan.revision))?.body;
  const subgroup = document?.subgroup ?? 'none';
  const mine = own.filter((one) => one.item.characteristic === item.characteristic).sort(inBuildOrder);
  const earlier = pointsOf(last, subgroup).map((point) => ({ ...point, ofThisLot: false }));
  const points = [
    ...earlier,
    ...pointsOf(
      mine.flatMap((one) => familyValues(facts.lot.body.lot, one)),
      subgroup,
    ).map((point) => ({ ...point, ofThisLot: true })),
  ];
  const bounds = excluded.find(({ why }) => why.code === 'only a bound')?.values ?? 0;
  const carried = { groups: valuesByBuild(known), builds: known?.builds ?? [], bounds };
  const described = performance(item, pool, carried, document);
  const moved = movedLimits(item, applied);
  const against = moved && performance({ ...item, ...moved.limits }, pool, carried, document);
  const chart = plan && document ? chartOf(document, plan, points) : { chart: null, notes: [NO_PLAN] };
  const outside = document ? mine.filter((one) => !isOf(document, item, one)).flatMap(({ values }) => values) : [];
  const untested: CapabilityNote[] =
    chart.chart && plan && outside.length > 0
      ? [
          {
            code: 'not of the pool of the plan',
            facts: { plan: plan.plan, revision: plan.revision, values: outside.length },
          },
        ]
      : [];
  return {
    characteristic: item.characteristic,
    points,
    excluded,
    takenOut,
    n: pool.n,
    lots: pool.lots,
    builds: pool.builds,
    ...{ min: pool.min, max: pool.max },
    ...described,
    applied:
      moved === undefined || against === undefined
        ? null
        : {
            ...{ lower: moved.limits.lower ?? null, upper: moved.limits.upper ?? null, studies: moved.studies },
            ...{ ppk: against.ppk, ppkLower: against.ppkLower },
          },
    // One value of another pool would make every later point of this lot doubtful.
    chart: chart.chart && { ...chart.chart, signals: outside.length > 0 ? [] : chart.chart.signals },
    notes: [...described.notes, ...chart.notes, ...untested],
  };
}

/** Of earlier builds all that the lot file carries, those that count no more left out. */
function valuesByBuild(known: CharacteristicHistory | undefined): number[][] {
  if (known === undefined) return [];
  const nameOf = ({ lot, build, specimen, piece, replicate }: Omit<FamilyValue, 'value' | 'builtAt'>) =>
    [lot, build, specimen, piece, replicate].join('\n');
  // A value of the baseline may have been corrected since: the last ones are as they stand.
  const found = new Map([...(known.plan?.baseline ?? []), ...known.last].map((one) => [nameOf(one), one]));
  for (const one of known.takenOut.last) found.delete(nameOf(one));
  return groupsOf([...found.values()], 'build').map(({ members }) => members.map(({ value }) => value));
}

/** The strictest limits to which studies moved those of the specification, for the coupons of this lot. */
function movedLimits(item: Characteristic, sets: readonly AppliedLimits[]) {
  const studies = [...new Set(sets.flatMap(({ study }) => study ?? []))];
  return studies.length === 0 ? undefined : { limits: strictestOf(item, sets), studies };
}

const NO_PLAN: CapabilityNote = { code: 'no plan in force', facts: {} };

const inBuildOrder = (a: OwnValues, b: OwnValues): number =>
  Date.parse(a.build.closedAt) - Date.parse(b.build.closedAt) || (a.build.build < b.build.build ? -1 : 1);

const isOf = (plan: CapabilityPlan, item: Characteristic, { context, build }: OwnValues): boolean =>
  excludedBecause(poolOfPlan(plan, item), context, build.closedAt) === undefined;

const familyValues = (lot: string, { build, values }: OwnValues): FamilyValue[] =>
  values.map(({ specimen, piece, replicate, value }) => ({
    lot,
    build: build.build,
    builtAt: build.closedAt,
    specimen,
    piece,
    replicate: Number(replicate),
    value: Number(value),
  }));

interface Chart {
  readonly chart: CapabilityResult['chart'];
  readonly notes: readonly CapabilityNote[];
}

/** Limits from the baseline alone, as it stood when the plan was approved; points of this lot against them. */
function chartOf(
  document: CapabilityPlan,
  { plan, revision, approvedAt, approvedBy, baseline }: NonNullable<CharacteristicHistory['plan']>,
  points: readonly HistoryPoint[],
): Chart {
  const named = { plan, revision };
  if (document.standardise !== 'no') {
    return { chart: null, notes: [{ code: 'standardised by type', facts: named }] };
  }
  const { points: fixed, limits } = baselineLimits(baseline, document.subgroup);
  const days = document.baseline;
  if (days === undefined || limits === undefined) {
    return { chart: null, notes: [{ code: 'no baseline', facts: { ...named, values: fixed } }] };
  }
  const { centre, sigma, lower, upper } = limits;
  const values = points.map(({ value }) => value);
  const rules = RUN_RULES.filter((rule: RunRule) => document.runRules.includes(rule));
  const signals = inOrder([...beyondLimits(values, lower, upper), ...patternSignals(values, centre, sigma, rules)])
    .filter(({ index }) => points[index - 1]!.ofThisLot)
    .map(({ index, rule }) => ({ index, rule }));
  return {
    chart: {
      ...named,
      ...{ approvedAt, approvedBy },
      baseline: { points: fixed, from: days.from, to: days.to },
      centre: stored(centre),
      lower: stored(lower),
      upper: stored(upper),
      signals,
    },
    notes: [],
  };
}
