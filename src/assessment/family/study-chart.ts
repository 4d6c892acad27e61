import type { FamilyValue } from '../../dossier/family-history.js';
import { readReported } from '../../dossier/reported-value.js';
import { signalId } from '../../dossier/signal-id.js';
import { chartConstants } from '../../statistics/chart-constants.js';
import { CUSUM, chartSignals, ewmaDesign } from '../../statistics/chart-signals.js';
import { cusumChart } from '../../statistics/cusum-chart.js';
import { ewmaChart } from '../../statistics/ewma-chart.js';
import { LONGEST_RUN, medianFalseRun } from '../../statistics/false-signals.js';
import { movingRanges } from '../../statistics/individuals-chart.js';
import { moments } from '../../statistics/summary.js';
import { stored } from '../performance.js';
import { changesOf } from './changes.js';
import { baselineLimits, groupsOf, nameOf } from './points.js';
import type { StudyInput, StudyRow } from './study-input.js';
import type { Apart, StudyChart, StudySignal } from './study-result.js';
import type { Together } from './types-together.js';

interface Group {
  readonly name: string;
  /** The first one of it. */
  readonly row: StudyRow;
  readonly values: readonly number[];
}

/** What each point stands for. No object is made of a value where it is no point of its own: there may be many. */
function groupsOfRows(rows: readonly StudyRow[], subgroup: StudyInput['plan']['subgroup']): Group[] {
  if (subgroup === 'none') {
    return rows.flatMap((row) =>
      row.values.map(({ value, ...of }) => ({
        name: nameOf({ ...of, lot: row.lot, build: row.build }),
        row,
        values: [value],
      })),
    );
  }
  const found = new Map<string, { row: StudyRow; values: number[] }>();
  for (const row of rows) {
    if (row.values.length === 0) continue;
    const known = found.get(row[subgroup]) ?? { row, values: [] };
    found.set(row[subgroup], known);
    for (const { value } of row.values) known.values.push(value);
  }
  return [...found].map(([name, group]) => ({ name, ...group }));
}

/**
 * Points with the limits that the baseline fixes, their signals, what changed between them, and what is drawn apart.
 * @param withFalseRun what the rules cost is simulated: lists have no use for it.
 * @param withChanges nor for what changed between the points.
 */
export function chartOf(
  { plan, approval, outcomes }: StudyInput,
  { rows, baseline, item, scale }: Together,
  withFalseRun = true,
  withChanges = true,
): StudyChart {
  const groups = groupsOfRows(rows, plan.subgroup);
  const days = plan.baseline;
  const points = groups.map(({ name, row, values }) => {
    const { lot, build, builtAt } = row;
    const { mean, sd, n } = moments(values);
    const day = builtAt.slice(0, 10);
    return {
      ...{ name, lot, build, builtAt, machine: row.context.machine, value: stored(mean), size: n },
      within: n < 2 ? null : stored(sd),
      inBaseline: days !== undefined && day >= days.from && day <= days.to,
    };
  });
  const told = points.map(({ value }) => value);
  const fixed = baselineLimits(baseline, plan.subgroup);
  const frame = {
    scale,
    specified: { lower: numberOf(item.lower), upper: numberOf(item.upper), target: numberOf(item.target) },
    points,
    ranges: movingRanges(told).map(stored),
    changes: withChanges ? changesOf(groups.map(({ row }) => row)) : [],
    apart: scale === 'as they are' ? apartOf(rows, points) : [],
  };
  if (fixed.limits === undefined || days === undefined) {
    return { ...frame, baseline: null, limits: null, ewma: null, cusum: null, signals: [], falseRun: null };
  }
  const { centre, sigma, lower, upper, rangeUpper } = fixed.limits;
  const moving = ewmaChart(told, ewmaDesign(centre, sigma));
  const sums = cusumChart(told, centre, CUSUM.k * sigma);
  const withinSd = pooledWithin(baseline, plan.subgroup);
  const run = withFalseRun ? medianFalseRun(plan.runRules, fixed.points) : null;
  const decided = new Map(outcomes.map((outcome) => [outcome.signal, outcome]));
  const signals = chartSignals(told, fixed.limits, plan.runRules).map(({ rule, first, last }): StudySignal => {
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
    falseRun: run === null ? null : { points: run, atLeast: run >= LONGEST_RUN },
  };
}

const numberOf = (text: string | undefined): number | null => (text === undefined ? null : Number(text));

const justOutcome = ({ cause, outcome, by, at }: NonNullable<StudySignal['outcome']>) => ({ cause, outcome, by, at });

/** Spread of single values within the points of the baseline; undefined where no point has two. */
function pooledWithin(baseline: readonly FamilyValue[], subgroup: StudyInput['plan']['subgroup']): number | undefined {
  const summaries = groupsOf(baseline, subgroup).map(({ members }) => moments(members.map(({ value }) => value)));
  const freedom = summaries.reduce((sum, { n }) => sum + n - 1, 0);
  if (freedom === 0) return undefined;
  return Math.sqrt(summaries.reduce((sum, { sumSquares }) => sum + sumSquares, 0) / freedom);
}

/** Bounds, repeats, replacements and what reworks made, each at the place of its own build, or of the one before it. */
function apartOf(rows: readonly StudyRow[], points: StudyChart['points']): Apart[] {
  const places = new Map(points.map(({ lot, build }, index) => [`${lot}\n${build}`, index]));
  let last = 0;
  return rows.flatMap(({ lot, build, builtAt, context, beside }) => {
    last = places.get(`${lot}\n${build}`) ?? last;
    return (beside.apart ?? [])
      .filter(({ value }) => Number.isFinite(Number(readReported(value).number)))
      .map((one) => ({ ...one, lot, build, builtAt, machine: context.machine, beside: last }));
  });
}
