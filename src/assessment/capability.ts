import type { Facts } from '../dossier/facts.js';
import { revisionKey } from '../dossier/facts.js';
import type { CharacteristicHistory, FamilyValue } from '../dossier/family-history.js';
import { excludedBecause, poolOfPlan } from '../dossier/pool.js';
import type { Characteristic } from '../kinds/specification.js';
import type { CapabilityPlan } from '../kinds/trend/capability-plan.js';
import { capabilityIndices } from '../statistics/capability.js';
import { exactLowerBound } from '../statistics/capability-bounds.js';
import { individualsChart } from '../statistics/individuals-chart.js';
import { RUN_RULES, type RunRule } from '../statistics/run-rules.js';
import { beyondLimits, inOrder, patternSignals } from '../statistics/signals.js';
import { moments } from '../statistics/summary.js';
import type { CapabilityResult, HistoryPoint } from './assessment.js';
import type { OwnValues } from './own-history.js';
import type { CapabilityNote } from './reasons.js';

/** Below this many values an index says nothing (docs/trade.md 6.3): show the plot. */
export const LEAST_VALUES_FOR_INDEX = 10;
const CONFIDENCE = 0.95;

/** Nine significant digits: Math functions differ in the last bits between engines, and these numbers are stored. */
const stored = (value: number): number => Number(value.toPrecision(9));

const NO_HISTORY: Pick<CharacteristicHistory, 'pool' | 'excluded' | 'takenOut' | 'last'> = {
  pool: { n: 0, lots: 0, builds: 0, mean: null, sumSquaredDeviations: null, min: null, max: null },
  excluded: [],
  takenOut: { values: 0, last: [] },
  last: [],
};

/**
 * Performance of the family in one characteristic, over its earlier builds. Values of this lot are in no mean and no
 * index: they are shown, and tested against the limits of the chart.
 * @param own what `ownValues` gives of the lot.
 */
export function familyCapability(
  facts: Pick<Facts, 'lot' | 'history' | 'capabilityPlans'>,
  item: Characteristic,
  own: readonly OwnValues[],
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
  const described = performance(item, pool);
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
    ...described,
    // One value of another pool would make every later point of this lot doubtful.
    chart: chart.chart && { ...chart.chart, signals: outside.length > 0 ? [] : chart.chart.signals },
    notes: [...described.notes, ...chart.notes, ...untested],
  };
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

type Point = Omit<HistoryPoint, 'ofThisLot'>;

/** Points of the chart: single values, or the means of builds or lots, in the order in which these began. */
function pointsOf(values: readonly FamilyValue[], subgroup: CapabilityPlan['subgroup']): Point[] {
  if (subgroup === 'none') {
    return values.map(({ lot, build, builtAt, specimen, value }) => ({ lot, build, builtAt, specimen, value }));
  }
  const groups = new Map<string, FamilyValue[]>();
  for (const value of values) groups.set(value[subgroup], [...(groups.get(value[subgroup]) ?? []), value]);
  return [...groups].map(([name, members]) => {
    const { lot, build, builtAt } = members[0]!;
    const { mean } = moments(members.map(({ value }) => value));
    return { lot, build, builtAt, specimen: name, value: stored(mean) };
  });
}

interface Chart {
  readonly chart: CapabilityResult['chart'];
  readonly notes: readonly CapabilityNote[];
}

/** Limits from the baseline alone, as it stood when the plan was approved; points of this lot against them. */
function chartOf(
  document: CapabilityPlan,
  { plan, revision, approvedAt, baseline }: NonNullable<CharacteristicHistory['plan']>,
  points: readonly HistoryPoint[],
): Chart {
  const named = { plan, revision };
  if (document.standardise === 'by type') {
    return { chart: null, notes: [{ code: 'standardised by type', facts: named }] };
  }
  const fixed = pointsOf(baseline, document.subgroup).map(({ value }) => value);
  const limits = fixed.length < 2 ? undefined : individualsChart(fixed, 'exact');
  if (limits === undefined || limits.sigma === 0) {
    return { chart: null, notes: [{ code: 'no baseline', facts: { ...named, values: fixed.length } }] };
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
      approvedAt,
      baseline: fixed.length,
      centre: stored(centre),
      lower: stored(lower),
      upper: stored(upper),
      signals,
    },
    notes: [],
  };
}

type Performance = Pick<CapabilityResult, 'mean' | 'sd' | 'ppk' | 'ppkLower' | 'confidence' | 'method' | 'notes'>;

function performance(
  item: Characteristic,
  { n, mean, sumSquaredDeviations }: CharacteristicHistory['pool'],
): Performance {
  const none = { mean: null, sd: null, ppk: null, ppkLower: null, confidence: CONFIDENCE, method: null };
  if (n < 2 || mean === null || sumSquaredDeviations === null) {
    return { ...none, notes: [{ code: 'too few for a spread', facts: { values: n } }] };
  }
  const sd = Math.sqrt(sumSquaredDeviations / (n - 1));
  const described = { ...none, mean: stored(mean), sd: stored(sd) };
  if (sd === 0) return { ...described, notes: [{ code: 'all equal', facts: {} }] };
  if (n < LEAST_VALUES_FOR_INDEX) {
    return {
      ...described,
      notes: [{ code: 'too few for an index', facts: { values: n, least: LEAST_VALUES_FOR_INDEX } }],
    };
  }
  const limits = {
    ...(item.lower === undefined ? {} : { lower: Number(item.lower) }),
    ...(item.upper === undefined ? {} : { upper: Number(item.upper) }),
  };
  const ppk = capabilityIndices(mean, sd, limits).nearer;
  const twoSided = item.lower !== undefined && item.upper !== undefined;
  return {
    ...described,
    ppk: stored(ppk),
    ppkLower: stored(exactLowerBound(ppk, n, CONFIDENCE)),
    method: twoSided ? 'conservative for two limits' : 'exact for one limit',
    notes: [
      { code: 'performance, not capability', facts: {} },
      { code: 'assumes normal values', facts: {} },
    ],
  };
}
