import { BesideValues } from '../dossier/beside-values.js';
import {
  type CharacteristicHistory,
  type FamilyValue,
  MOST_NAMED,
  type TakenOutValue,
} from '../dossier/family-history.js';
import { excludedBecause, poolOfPlan } from '../dossier/pool.js';
import type { Characteristic } from '../kinds/specification.js';
import type { Histories, RowTakenOut, RowValue } from './histories.js';
import type { GroupWant } from './history-groups.js';
import { contextOf, stored } from './history-pool.js';
import type { PlanInForce } from './plans-in-force.js';
import type { HistoryHeadRow, HistoryWant, LotRow } from './questions.js';

/** A plan, what is looked back on by it, and whose values. */
interface Planned {
  readonly item: Characteristic;
  readonly plan: PlanInForce;
  readonly contexts: readonly string[];
}

/** Of each planned characteristic the values of the last points of its chart. One that is a mean has all its values. */
export async function lastOfPlans(
  histories: Histories,
  planned: readonly Planned[],
  want: (item: Characteristic, more: Partial<HistoryWant>) => HistoryWant,
): Promise<ReadonlyMap<Characteristic, FamilyValue[]>> {
  const single: [Characteristic, HistoryWant][] = [];
  const grouped: [Characteristic, GroupWant][] = [];
  for (const { item, contexts, plan } of planned) {
    const { subgroup } = plan.revision.body;
    const asked = want(item, { contexts, values: true });
    if (subgroup === 'none') single.push([item, asked]);
    else grouped.push([item, { ...asked, by: subgroup }]);
  }
  const rows = await histories.rows(
    single.map(([, asked]) => asked),
    MOST_NAMED,
  );
  const groups = await histories.rowsOfLastGroups(
    grouped.map(([, asked]) => asked),
    MOST_NAMED,
  );
  return new Map([
    ...single.map(([item], index) => [item, rows[index]!.flatMap(valuesOf).slice(-MOST_NAMED)] as const),
    ...grouped.map(([item], index) => [item, groups[index]!.flatMap(valuesOf)] as const),
  ]);
}

/** A plan with the values of its baseline as they stood when it was approved. What came in later moves no limit. */
export async function planOf(
  histories: Histories,
  { revision, signed, seq }: PlanInForce,
  item: Characteristic,
): Promise<CharacteristicHistory['plan']> {
  const { plan, family, characteristic, baseline } = revision.body;
  const [head] = await histories.heads(family, [characteristic], seq);
  const [rows] = baseline
    ? await histories.rows([
        { family, characteristic, seq, ...closedAround(baseline), ...baseline, values: true, beside: true },
      ])
    : [[]];
  const pool = poolOfPlan(revision.body, item);
  const isBroughtTogether = revision.body.standardise !== 'no';
  return {
    ...{ plan, revision: revision.revision, approvedAt: signed.statement.at },
    approvedBy: { code: signed.statement.person.code, name: signed.statement.person.name },
    head: head === undefined ? null : headOf(head),
    baseline: rows!
      .toSorted(inBuildOrder)
      .filter((row) => excludedBecause(pool, contextOf(row.context), row.builtAt) === undefined)
      .flatMap((row) => (isBroughtTogether ? typedValuesOf(row) : valuesOf(row))),
  };
}

/** As the store gives them, and rows of one build by what their values have in common, whichever came in first. */
export const inBuildOrder = (a: LotRow, b: LotRow): number =>
  Date.parse(a.closedAt) - Date.parse(b.closedAt) ||
  (a.build === b.build ? order(a.context, b.context) : order(a.build, b.build));
const order = (a: string, b: string): number => (a === b ? 0 : a < b ? -1 : 1);

const DAY_MS = 86_400_000;

/** Moments between which all was closed on some days, at whatever hours they began there. */
const closedAround = ({ from, to }: { readonly from: string; readonly to: string }) => ({
  since: new Date(Date.parse(from) - DAY_MS).toISOString(),
  before: new Date(Date.parse(to) + 2 * DAY_MS).toISOString(),
});

export const headOf = ({ position, digest }: HistoryHeadRow) => ({ position, digest });

export const buildOf = ({ lot, build, builtAt, n, mean, min, max, censored }: LotRow) => ({
  ...{ lot, build, builtAt, n, min, max, censored },
  mean: mean === null ? null : stored(mean),
});

export const valuesOf = ({ lot, build, builtAt, values }: LotRow): FamilyValue[] =>
  (JSON.parse(values) as RowValue[]).map(([specimen, piece, replicate, value]) => ({
    ...{ lot, build, builtAt, specimen, piece, replicate, value },
  }));

/** With the type of part and its nominal value, as the row tells them. */
const typedValuesOf = (row: LotRow): FamilyValue[] => {
  const { judged } = BesideValues.parse(JSON.parse(row.beside));
  const type = judged === undefined ? {} : { type: judged.specification };
  const nominal = judged == null || judged.target === null ? {} : { nominal: judged.target };
  return valuesOf(row).map((one) => ({ ...one, ...type, ...nominal }));
};

export const takenOutOf = ({ lot, build, takenOut }: LotRow): TakenOutValue[] =>
  (JSON.parse(takenOut) as RowTakenOut[]).map(([specimen, piece, replicate, value, cause, decidedBy]) => ({
    ...{ lot, build, specimen, piece, replicate, value, cause, decidedBy },
  }));
