import { canonicalJson, sha256Hex } from '../../dossier/canonical.js';
import type { FamilyValue } from '../../dossier/family-history.js';
import { excludedBecause, poolOfPlan } from '../../dossier/pool.js';
import { chartConstants } from '../../statistics/chart-constants.js';
import { CUSUM, chartSignals, ewmaDesign } from '../../statistics/chart-signals.js';
import { cusumChart } from '../../statistics/cusum-chart.js';
import { ewmaChart } from '../../statistics/ewma-chart.js';
import { LONGEST_RUN, medianFalseRun } from '../../statistics/false-signals.js';
import { movingRanges } from '../../statistics/individuals-chart.js';
import { moments } from '../../statistics/summary.js';
import { stored } from '../performance.js';
import { familyIndex } from './family-index.js';
import { baselineLimits, groupsOf } from './points.js';
import { FACTORS, poolTrials } from './pool-trials.js';
import type { StudyInput, StudyRow } from './study-input.js';
import type { ChangeLine, FamilyStudy, StudyChart, StudyNote, StudySignal } from './study-result.js';

/** A baseline of fewer points fixes limits that may lie anywhere (docs/trade.md 6.4). */
export const LEAST_BASELINE = 20;

/** Identity of a signal: later points do not change it, another plan or corrected points do. */
export const signalId = (plan: string, revision: number, rule: string, points: readonly string[]): string =>
  sha256Hex(canonicalJson({ plan, revision, rule, points: [...points] }));

/**
 * What the builds of a family say of one characteristic under a signed plan: each build in or out, whether the pool holds,
 * charts with the limits of the baseline, signals, and the index with its bounds. A pure function of its input.
 */
export function familyStudy(input: StudyInput): FamilyStudy {
  const { plan, characteristic: item } = input;
  const pool = poolOfPlan(plan, item);
  const why = new Map(input.rows.map((row) => [row, excludedBecause(pool, row.context, row.builtAt) ?? null]));
  const rows = input.rows.filter((row) => why.get(row) === null);
  const trials = poolTrials(rows);
  const chart = chartOf(input, rows);
  const failing = trials.filter(({ verdict }) => verdict === 'fails').map(({ factor }) => factor);
  const whole = familyIndex({ item, plan, rows, chart });
  const index = failing.length === 0 ? whole : withoutIndex(whole);
  const ids = new Set(chart.signals.map(({ id }) => id));
  return {
    format: 1,
    listed: input.rows.map((row) => {
      const { lot, build, builtAt, bounds, takenOut, values } = row;
      const mean = values.length === 0 ? null : stored(moments(values.map(({ value }) => value)).mean);
      return { lot, build, builtAt, values: values.length, bounds, takenOut, mean, leftOut: why.get(row)! };
    }),
    trials,
    chart,
    index,
    split: failing.flatMap((factor) => {
      const nameOf = ({ context }: StudyRow) => FACTORS[factor](context);
      return [...new Set(rows.map(nameOf))].sort().map((name) => {
        const own = rows.filter((row) => nameOf(row) === name);
        return { factor, name, index: familyIndex({ item, plan, rows: own }) };
      });
    }),
    was: input.outcomes
      .filter(({ signal }) => !ids.has(signal))
      .map(({ signal, rule, points, cause, outcome, by, at }) => ({
        ...{ id: signal, rule, points: [...points], cause, outcome, by, at },
      })),
    notes: notesOf(input, rows, chart, failing, whole.bounded > whole.n ? whole : undefined),
  };
}

/** Values that do not belong together have no index together. */
const withoutIndex = (whole: FamilyStudy['index']): FamilyStudy['index'] => ({
  ...whole,
  ...{ ppk: null, ppkLower: null, bounds: { independent: null, builds: null }, method: null },
  ...{ cpk: null, noCpk: 'no index', percentile: null, tolerance: null, more: null, says: 'not stated' },
});

/** The charts and signals of a study alone. */
export function studyChart(input: StudyInput): StudyChart {
  const pool = poolOfPlan(input.plan, input.characteristic);
  return chartOf(
    input,
    input.rows.filter((row) => excludedBecause(pool, row.context, row.builtAt) === undefined),
  );
}

type Value = FamilyValue & { readonly row: StudyRow };

function chartOf({ plan, baseline, approval, outcomes }: StudyInput, rows: readonly StudyRow[]): StudyChart {
  const values: Value[] = rows.flatMap((row) =>
    row.values.map((one) => ({ ...one, row, lot: row.lot, build: row.build, builtAt: row.builtAt })),
  );
  const groups = groupsOf(values, plan.subgroup);
  const days = plan.baseline;
  const points = groups.map(({ name, members }) => {
    const { lot, build, builtAt, row } = members[0]!;
    const { mean, sd, n } = moments(members.map(({ value }) => value));
    const day = builtAt.slice(0, 10);
    return {
      ...{ name, lot, build, builtAt, machine: row.context.machine, value: stored(mean), size: n },
      within: n < 2 ? null : stored(sd),
      inBaseline: days !== undefined && day >= days.from && day <= days.to,
    };
  });
  const told = points.map(({ value }) => value);
  const fixed = baselineLimits(baseline, plan.subgroup);
  const limits = plan.standardise === 'by type' || days === undefined ? undefined : fixed.limits;
  const frame = { points, ranges: movingRanges(told).map(stored), changes: changesOf(groups) };
  if (limits === undefined || days === undefined) {
    return { ...frame, baseline: null, limits: null, ewma: null, cusum: null, signals: [], falseRun: null };
  }
  const { centre, sigma, lower, upper, rangeUpper } = limits;
  const moving = ewmaChart(told, ewmaDesign(centre, sigma));
  const sums = cusumChart(told, centre, CUSUM.k * sigma);
  const withinSd = pooledWithin(baseline, plan.subgroup);
  const run = medianFalseRun(plan.runRules, fixed.points);
  const decided = new Map(outcomes.map((outcome) => [outcome.signal, outcome]));
  const signals = chartSignals(told, limits, plan.runRules).map(({ rule, first, last }): StudySignal => {
    const own = points.slice(first, last + 1);
    const id = signalId(
      plan.plan,
      plan.revision,
      rule,
      own.map(({ name }) => name),
    );
    const known = decided.get(id);
    return {
      ...{ id, rule, first, last, at: own.at(-1)!.builtAt },
      points: own.map(({ name }) => name),
      lots: [...new Set(own.map(({ lot }) => lot))],
      asks: Date.parse(own.at(-1)!.builtAt) > Date.parse(approval.at),
      outcome: known === undefined ? null : justOutcome(known),
    };
  });
  return {
    ...frame,
    baseline: { points: fixed.points, from: days.from, to: days.to },
    limits: {
      ...{ centre: stored(centre), sigma: stored(sigma), lower: stored(lower), upper: stored(upper) },
      rangeUpper: stored(rangeUpper),
      withinUpper: points.map(({ size }) =>
        size < 2 || withinSd === undefined ? null : stored(chartConstants(size).B4 * withinSd),
      ),
    },
    ewma: { points: moving.points.map(stored), lower: moving.lower.map(stored), upper: moving.upper.map(stored) },
    cusum: { high: sums.high.map(stored), low: sums.low.map(stored), limit: stored(CUSUM.h * sigma) },
    signals,
    falseRun: { points: run, atLeast: run >= LONGEST_RUN },
  };
}

const justOutcome = ({ cause, outcome, by, at }: NonNullable<StudySignal['outcome']>) => ({ cause, outcome, by, at });

/** Spread of single values within the points of the baseline; undefined where no point has two. */
function pooledWithin(baseline: readonly FamilyValue[], subgroup: StudyInput['plan']['subgroup']): number | undefined {
  const summaries = groupsOf(baseline, subgroup).map(({ members }) => moments(members.map(({ value }) => value)));
  const freedom = summaries.reduce((sum, { n }) => sum + n - 1, 0);
  if (freedom === 0) return undefined;
  return Math.sqrt(summaries.reduce((sum, { sumSquares }) => sum + sumSquares, 0) / freedom);
}

/** Where something that was recorded about the making or measuring changed from one point to the next. */
function changesOf(groups: readonly { readonly members: readonly Value[] }[]): ChangeLine[] {
  const factors = Object.keys(FACTORS) as ChangeLine['what'][];
  return groups.slice(1).flatMap(({ members }, index) => {
    const [before, now] = [groups[index]!.members[0]!.row.context, members[0]!.row.context];
    return factors.flatMap((what) => {
      const [from, to] = [FACTORS[what](before), FACTORS[what](now)];
      return from === to ? [] : [{ before: index + 1, what, from, to }];
    });
  });
}

function notesOf(
  input: StudyInput,
  rows: readonly StudyRow[],
  { points, baseline, limits, signals }: StudyChart,
  failing: readonly string[],
  mostly: { readonly bounded: number; readonly n: number } | undefined,
): StudyNote[] {
  const { plan, approval, unassessed, characteristic: item } = input;
  const early = points.filter(
    ({ inBaseline, builtAt }) =>
      !inBaseline &&
      plan.baseline !== undefined &&
      builtAt.slice(0, 10) > plan.baseline.to &&
      Date.parse(builtAt) <= Date.parse(approval.at),
  ).length;
  const shaken = signals.filter(({ last }) => points[last]!.inBaseline).length;
  const notes: (StudyNote | false)[] = [
    plan.standardise === 'by type' && { code: 'standardised by type', facts: {} },
    plan.standardise === 'no' &&
      limits === null && {
        code: 'no baseline',
        facts: { points: points.filter(({ inBaseline }) => inBaseline).length },
      },
    baseline !== null &&
      baseline.points < LEAST_BASELINE && {
        code: 'short baseline',
        facts: { points: baseline.points, least: LEAST_BASELINE },
      },
    shaken > 0 && { code: 'unstable baseline', facts: { signals: shaken } },
    early > 0 && { code: 'data before the plan', facts: { points: early } },
    failing.length > 0 && { code: 'pool fails', facts: { factors: [...failing] } },
    unassessed.length > 0 && { code: 'lots missing', facts: { lots: unassessed.map(({ lot }) => lot) } },
    mostly !== undefined && { code: 'mostly bounds', facts: { bounds: mostly.bounded, values: mostly.n } },
  ];
  const since = Date.parse(input.limits.effectiveFrom);
  const moved = input.earlierLimits.some(
    ({ lower, upper }) => lower !== (item.lower ?? null) || upper !== (item.upper ?? null),
  );
  const lots = new Set(rows.filter(({ builtAt }) => Date.parse(builtAt) < since).map(({ lot }) => lot)).size;
  if (moved && lots > 0) {
    const { revision, effectiveFrom } = input.limits;
    notes.push({ code: 'limits moved', facts: { revision, effectiveFrom, lots } });
  }
  return notes.filter((note) => note !== false);
}
