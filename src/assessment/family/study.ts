import { excludedBecause, poolOfPlan } from '../../dossier/pool.js';
import type { Characteristic } from '../../kinds/specification.js';
import { moments } from '../../statistics/summary.js';
import { LEAST_P_OF_NORMAL, stored } from '../performance.js';
import { coincidences } from './coincidences.js';
import { familyIndex } from './family-index.js';
import { FACTORS, poolTrials } from './pool-trials.js';
import { chartOf } from './study-chart.js';
import type { StudyInput, StudyRow } from './study-input.js';
import { notesOf } from './study-notes.js';
import {
  type FamilyIndex,
  type FamilyStudy,
  REFUSALS,
  type Silent,
  type StudyChart,
  type StudyNote,
} from './study-result.js';
import { itemOfType, type Together, typesTogether } from './types-together.js';

/**
 * What the builds of a family say of one characteristic under a signed plan: each build in or out, whether the pool holds,
 * charts with the limits of the baseline, signals, what changed beside them, and the index with its bounds. A pure function
 * of its input.
 * @param withFalseRun what the rules cost is simulated: lists have no use for it.
 * @param withChanges nor for what changed between the points.
 */
export function familyStudy(input: StudyInput, withFalseRun = true, withChanges = true): FamilyStudy {
  const { plan } = input;
  const pool = poolOfPlan(plan, input.characteristic);
  const why = new Map(input.rows.map((row) => [row, excludedBecause(pool, row.context, row.builtAt) ?? null]));
  const admitted = input.rows.filter((row) => why.get(row) === null);
  const together = typesTogether(input, admitted);
  const { rows, item } = together.indexed;
  const trials = poolTrials(together.rows);
  const chart = chartOf(input, together, withFalseRun, withChanges);
  const failing = trials.filter(({ verdict }) => verdict === 'fails').map(({ factor }) => factor);
  const notes = notesOf(input, together, admitted, chart, failing);
  const refused = REFUSALS.find((code) => notes.some((note) => note.code === code));
  const indexOf = (own: readonly StudyRow[], withChart: boolean, by = item): FamilyIndex => {
    const index = familyIndex({ item: by, plan, rows: own, ...(withChart ? { chart } : {}), notes });
    return refused === undefined ? index : withoutIndex(index, refused);
  };
  const apart = together.typesAlone ? [...new Set([...failing, 'type' as const])] : failing;
  const whole = indexOf(rows, true);
  const index =
    apart.length === 0 ? whole : withoutIndex(whole, refused ?? (failing.length > 0 ? 'pool fails' : 'types apart'));
  const ids = new Set(chart.signals.map(({ id }) => id));
  return {
    format: 1,
    listed: input.rows.map((row) => {
      const { lot, build, builtAt, bounds, takenOut, values, beside } = row;
      const mean = values.length === 0 ? null : stored(moments(values.map(({ value }) => value)).mean);
      const again = (beside.apart ?? []).filter((one) => one.why !== 'bound').length;
      return { lot, build, builtAt, values: values.length, bounds, takenOut, again, mean, leftOut: why.get(row)! };
    }),
    trials,
    chart,
    index,
    nonconforming: apart.length === 0 ? withoutNonconforming(rows, (own) => indexOf(own, false)) : null,
    coincidences: coincidences(chart),
    split: splitBy(apart, together, (own, by) => besideSignals(indexOf(own, false, by), own, chart, plan)),
    was: input.outcomes
      .filter(({ signal }) => !ids.has(signal))
      .map(({ signal, rule, points, cause, outcome, by, at }) => ({
        ...{ id: signal, rule, points: [...points], cause, outcome, by, at },
      })),
    notes: [...notes, ...notesOfIndex(whole, plan)],
  };
}

/** What is to be known once the numbers are there. */
function notesOfIndex(
  { bounded, undecided, n, spread, ppk }: FamilyIndex,
  { subgroup }: StudyInput['plan'],
): StudyNote[] {
  const notes: (StudyNote | false)[] = [
    bounded > n
      ? { code: 'mostly bounds', facts: { bounds: bounded, values: n } }
      : undecided > 0
        ? { code: 'bounds undecided', facts: { bounds: undecided } }
        : bounded > 0 && ppk !== null && { code: 'bounds counted', facts: { bounds: bounded, values: n } },
    subgroup === 'none' &&
      spread !== null &&
      spread.p !== null &&
      spread.p < LEAST_P_OF_NORMAL && { code: 'points alike', facts: {} },
  ];
  return notes.filter((note) => note !== false);
}

/** Values that do not belong together have no index together. */
const withoutIndex = (whole: FamilyIndex, silent: Silent): FamilyIndex => ({
  ...whole,
  ...{ ppk: null, ppkLower: null, bounds: { independent: null, builds: null }, method: null },
  ...{ cpk: null, noCpk: 'no index', percentile: null, tolerance: null, more: null, says: 'not stated', silent },
});

/** A group has no chart of its own. Where a point of it is part of a signal, that is why no stability is claimed of it. */
function besideSignals(
  index: FamilyIndex,
  rows: readonly StudyRow[],
  { points, signals }: StudyChart,
  { subgroup }: StudyInput['plan'],
): FamilyIndex {
  const pointOf = ({ lot, build }: { readonly lot: string; readonly build: string }) =>
    subgroup === 'lot' ? lot : `${lot}\n${build}`;
  const own = new Set(rows.filter(({ values }) => values.length > 0).map(pointOf));
  const isShaken = signals.some(({ first, last }) =>
    points.slice(first, last + 1).some((one) => own.has(pointOf(one))),
  );
  return isShaken && index.noCpk === 'no limits' ? { ...index, noCpk: 'signals' } : index;
}

/** An index for each group of a factor by which the pool fails. */
function splitBy(
  failing: readonly FamilyStudy['trials'][number]['factor'][],
  { indexed: { rows, item } }: Together,
  indexOf: (rows: readonly StudyRow[], by: Characteristic) => FamilyIndex,
): FamilyStudy['split'] {
  return failing.flatMap((factor) =>
    [...new Set(rows.map(FACTORS[factor]))].sort().map((name) => {
      const own = rows.filter((row) => FACTORS[factor](row) === name);
      return { factor, name, index: indexOf(own, factor === 'type' ? itemOfType(item, own) : item) };
    }),
  );
}

/** The same index without what people decided not to conform, so that both can be read side by side. */
function withoutNonconforming(
  rows: readonly StudyRow[],
  indexOf: (rows: readonly StudyRow[]) => FamilyIndex,
): FamilyStudy['nonconforming'] {
  const specimens = rows.flatMap(({ lot, beside }) => (beside.nonconforming ?? []).map((one) => ({ lot, ...one })));
  if (specimens.length === 0) return null;
  const kept = rows.map((row) => {
    const out = new Set((row.beside.nonconforming ?? []).map(({ specimen }) => specimen));
    return out.size === 0 ? row : { ...row, values: row.values.filter(({ specimen }) => !out.has(specimen)) };
  });
  return { specimens, without: indexOf(kept) };
}

/** The charts and signals of a study alone. @param withChanges what changed between the points: signals alone need none. */
export function studyChart(input: StudyInput, withChanges = true): StudyChart {
  const pool = poolOfPlan(input.plan, input.characteristic);
  const admitted = input.rows.filter((row) => excludedBecause(pool, row.context, row.builtAt) === undefined);
  return chartOf(input, typesTogether(input, admitted), false, withChanges);
}

/** The same points at the times when they were measured, in that order: what the laboratory did shows there. */
export function chartInTestOrder(input: StudyInput): StudyChart {
  const rows = input.rows.map((row) => ({ ...row, builtAt: row.beside.made?.measured?.from ?? row.builtAt }));
  return studyChart({ ...input, rows: rows.sort((a, b) => Date.parse(a.builtAt) - Date.parse(b.builtAt)) });
}
