import { anyExposedApart } from '../../dossier/exposed.js';
import type { StudyInput, StudyRow } from './study-input.js';
import type { StudyChart, StudyNote } from './study-result.js';
import type { Together } from './types-together.js';

/** A baseline of fewer points fixes limits that may lie anywhere (docs/trade.md 6.4). */
export const LEAST_BASELINE = 20;

/** With one of these no stability is claimed. */
export const UNSTABLE: readonly StudyNote['code'][] = ['short baseline', 'unstable baseline'];

const ANSWERED: readonly StudyNote['code'][] = ['limits moved', 'overdue'];

/** What nobody lets pass without saying why it may: limits that moved after the data, instruments that were overdue. */
export const answeredByReview = (notes: readonly StudyNote[]): StudyNote[] =>
  notes.filter(({ code }) => ANSWERED.includes(code));

/** A review of what asks for an answer counts with a reason only. */
export const isAnsweredBy = (notes: readonly StudyNote[], { reason }: { reason: string | null }): boolean =>
  answeredByReview(notes).length === 0 || Boolean(reason?.trim());

/** What has to be known beside the numbers. */
export function notesOf(
  input: StudyInput,
  together: Together,
  admitted: readonly StudyRow[],
  { points, baseline, limits, signals }: StudyChart,
  failing: readonly string[],
): StudyNote[] {
  const { plan, approval, unassessed } = input;
  const early = points.filter(
    ({ inBaseline, builtAt }) =>
      !inBaseline &&
      plan.baseline !== undefined &&
      builtAt.slice(0, 10) > plan.baseline.to &&
      Date.parse(builtAt) <= Date.parse(approval.at),
  ).length;
  const shaken = signals.filter(({ last }) => points[last]!.inBaseline).length;
  const exposed = exposuresApart(admitted);
  const methods = lotsOfTwoMethods(admitted);
  const notes: (StudyNote | false)[] = [
    admitted.length === 0 &&
      input.rows.length > 0 && { code: 'no lot of the plan', facts: { rows: input.rows.length } },
    ...together.notes,
    exposed !== undefined && { code: 'exposures differ', facts: exposed },
    methods.length > 0 && { code: 'two methods in a lot', facts: { lots: methods } },
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
    limitsMoved(input, admitted),
    poolsMore(input, admitted),
    overdueUses(admitted),
    impactsOf(input, admitted),
  ];
  return notes.filter((note) => note !== false);
}

/**
 * By the revision with which the limits of today came, though others may have come after it. Its day of effect is typed by
 * people, and nobody could know of it before it was on record: the later of the two counts.
 */
function limitsMoved({ limits, earlierLimits, characteristic: item }: StudyInput, rows: readonly StudyRow[]) {
  const latestFirst = earlierLimits.toSorted((a, b) => b.revision - a.revision);
  const other = latestFirst.findIndex(
    ({ lower, upper, boundary }) =>
      lower !== (item.lower ?? null) || upper !== (item.upper ?? null) || boundary !== item.boundary,
  );
  if (other === -1) return false;
  const { revision, effectiveFrom, recordedAt = effectiveFrom } = latestFirst[other - 1] ?? limits;
  const isLate = Date.parse(recordedAt) > Date.parse(effectiveFrom);
  const since = Date.parse(isLate ? recordedAt : effectiveFrom);
  const lots = new Set(rows.filter(({ builtAt }) => Date.parse(builtAt) < since).map(({ lot }) => lot)).size;
  if (lots === 0) return false;
  return { code: 'limits moved' as const, facts: { revision, effectiveFrom, ...(isLate ? { recordedAt } : {}), lots } };
}

/** What the plan admits and the rule of the specification does not, by which lots are assessed. */
function poolsMore({ pooling, plan: { pools }, characteristic: { method } }: StudyInput, rows: readonly StudyRow[]) {
  const { machines, recipeGroups, methodRevisions, from } = pooling;
  const isOfRule = (one: { readonly method: string; readonly revision: number }) =>
    one.method === method.method && (methodRevisions === 'any' || one.revision === method.revision);
  const more = {
    machines: pools.machines.filter((one) => !machines.includes(one)),
    recipeGroups: pools.recipeGroups.filter((one) => !recipeGroups.includes(one)),
    methods: pools.methods.filter((one) => !isOfRule(one)),
    before: from !== undefined && rows.some(({ builtAt }) => builtAt.slice(0, 10) < from) ? from : null,
  };
  const isMore = more.before !== null || [more.machines, more.recipeGroups, more.methods].some((one) => one.length > 0);
  return isMore && { code: 'pools more' as const, facts: more };
}

function overdueUses(rows: readonly StudyRow[]) {
  const found = new Map<string, Set<string>>();
  for (const { lot, values, beside } of rows) {
    if (values.length === 0) continue;
    for (const { instrument, overdue } of beside.made?.calibrated ?? []) {
      if (overdue) found.set(instrument, (found.get(instrument) ?? new Set()).add(lot));
    }
  }
  const uses = [...found].map(([instrument, lots]) => ({ instrument, lots: [...lots] }));
  return uses.length > 0 && { code: 'overdue' as const, facts: { uses } };
}

function impactsOf({ impacts }: StudyInput, rows: readonly StudyRow[]) {
  const counted = new Set(rows.flatMap(({ lot, values, bounds }) => (values.length + bounds > 0 ? [lot] : [])));
  const touching = impacts
    .map((one) => ({ ...one, lots: one.lots.filter((lot) => counted.has(lot)) }))
    .filter(({ lots }) => lots.length > 0);
  return touching.length > 0 && { code: 'impacts' as const, facts: { impacts: touching } };
}

/** Values of two media, durations or faces are no values of one thing (docs/trade.md 8.4). */
function exposuresApart(rows: readonly StudyRow[]) {
  return anyExposedApart(rows.flatMap(({ values, context }) => (values.length > 0 ? [context] : [])));
}

function lotsOfTwoMethods(rows: readonly StudyRow[]): string[] {
  const known = new Map<string, string>();
  const lots = new Set<string>();
  for (const { lot, context, values } of rows) {
    if (values.length === 0) continue;
    const method = `${context.method} ${context.methodRevision}`;
    if ((known.get(lot) ?? method) !== method) lots.add(lot);
    known.set(lot, method);
  }
  return [...lots];
}
