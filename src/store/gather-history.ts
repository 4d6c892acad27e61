import { canonicalJson } from '../dossier/canonical.js';
import {
  type CharacteristicHistory,
  FamilyHistory,
  type FamilyValue,
  MOST_NAMED,
  type TakenOutValue,
} from '../dossier/family-history.js';
import { excludedBecause, HistoryContext, type Pool, poolOfPlan, poolOfRule } from '../dossier/pool.js';
import type { Pinned } from '../dossier/schema.js';
import type { SignedStatement } from '../dossier/statement.js';
import type { Lot } from '../kinds/lot.js';
import type { Characteristic, Specification } from '../kinds/specification.js';
import { asPinned } from './gathering.js';
import { ALWAYS, LAST_ENTRY, NEVER, type RowTakenOut, type RowValue } from './histories.js';
import { firstClosing, type PlanInForce, plansInForce } from './plans-in-force.js';
import type {
  HistoryContextFields,
  HistoryHeadRow,
  HistoryMember,
  HistoryMembersRow,
  HistoryRow,
  HistoryWant,
} from './questions.js';
import type { Reads } from './repositories.js';
import type { SharedFacts } from './shared-facts.js';

interface GatheredHistory {
  readonly history: FamilyHistory | undefined;
  /** Plans that it rests on, and the signatures that approved them, in the order of their names. */
  readonly plans: readonly Pinned[];
  readonly approvals: readonly SignedStatement[];
}

type Row = HistoryRow & { readonly lot: string };

/** Nine significant digits, as everything that is computed is stored. */
const stored = (value: number): number => Number(value.toPrecision(9));
const storedOrNull = (value: number | null): number | null => (value === null ? null : stored(value));

/**
 * What a lot file carries of the earlier builds of its family, as the history stands now: sums over what the pooling rule
 * admits, and single values only where a rule needs them. Its size does not grow with the number of lots.
 */
export async function gatherHistory(
  { histories, ...read }: Pick<Reads, 'histories' | 'signatures' | 'events'>,
  shared: SharedFacts,
  lot: Lot,
  specification: Specification,
): Promise<GatheredHistory> {
  const { family } = lot;
  const none = { history: undefined, plans: [], approvals: [] };
  const names = specification.characteristics.map(({ characteristic }) => characteristic);
  const heads = new Map((await histories.heads(family, names)).map((head) => [head.characteristic, head]));
  if (heads.size === 0) return none;
  // One moment for all questions: another lot may be summarised between two of them.
  const seq = Math.max(...[...heads.values()].map((head) => head.ledgerSeq));
  const before = new Date(firstClosing(lot)).toISOString();
  const from = specification.pooling.from ?? NEVER;
  // A lot may have been summarised with a build of another day, and is no history of itself.
  const asked = [family, seq, before, from, lot.lot] as const;
  const contexts = await histories.contexts(...asked, [...heads.keys()]);
  const items = specification.characteristics.filter(({ characteristic }) =>
    (contexts.get(characteristic) ?? []).some(saysSomething),
  );
  if (items.length === 0) return none;
  const plans = await plansInForce(read, shared, lot);
  const found = items.map((item) => {
    const own = contexts.get(item.characteristic)!;
    const plan = plans.get(item.characteristic);
    const rule = poolOfRule(specification.pooling, item);
    const lookBack = plan === undefined ? rule : poolOfPlan(plan.revision.body, item);
    return { item, own, plan, rule: admittedBy(rule, own), lookBack: admittedBy(lookBack, own) };
  });
  // A build or lot in several contexts counts once: asked for only where there are several.
  const groups = found.flatMap(({ item, own, rule }) => [
    ...poolMembers(item, rule),
    ...exclusions(poolOfRule(specification.pooling, item), item, own).flatMap((one) => one.members),
  ]);
  const sizes = new Map<string, number>();
  for (const { group } of groups) sizes.set(group, (sizes.get(group) ?? 0) + 1);
  const several = groups.filter(({ group }) => sizes.get(group)! > 1);
  const members = new Map(
    several.length === 0 ? [] : (await histories.members(...asked, several)).map((row) => [row.group, row]),
  );
  const want = ({ characteristic }: Characteristic, more: Partial<HistoryWant>): HistoryWant => ({
    ...{ family, characteristic, seq, before, except: lot.lot, from: NEVER, to: ALWAYS },
    ...more,
  });
  // Without a plan the last values are those of the last builds.
  const builds = await histories.rows(
    found.map(({ item, rule, plan }) => want(item, { contexts: rule, from, values: plan === undefined })),
    MOST_NAMED,
  );
  const planned = found.flatMap(({ item, lookBack, plan }) => (plan === undefined ? [] : [{ item, lookBack, plan }]));
  const lookedBack = await lastOfPlans(histories, planned, want);
  // Where nothing was taken out, a look for the last of it would go through all rows.
  const losing = found.filter(({ own }) => own.some((row) => row.takenOut > 0));
  const takenOut = new Map(
    (
      await histories.rows(
        losing.map(({ item }) => want(item, { takenOut: true })),
        MOST_NAMED,
      )
    ).map((rows, index) => [losing[index]!.item, rows]),
  );
  const [latest] = (
    await histories.rows(
      found.map(({ item }) => want(item, {})),
      1,
    )
  )
    .flat()
    .sort((a, b) => inOrder(b, a));
  const characteristics: CharacteristicHistory[] = [];
  for (const [index, { item, own, plan, rule }] of found.entries()) {
    characteristics.push({
      characteristic: item.characteristic,
      head: headOf(heads.get(item.characteristic)!),
      pool: poolTotals(
        own.filter((row) => rule.includes(row.context)),
        members.get(poolGroup(item)),
      ),
      excluded: exclusions(poolOfRule(specification.pooling, item), item, own).map(
        ({ why, values, lots, members: [of] }) => ({
          ...{ why, values },
          lots: Number(members.get(of!.group)?.lots ?? lots),
        }),
      ),
      takenOut: {
        values: own.reduce((sum, row) => sum + row.takenOut, 0),
        last: (takenOut.get(item) ?? []).flatMap(takenOutOf).slice(-MOST_NAMED),
      },
      builds: builds[index]!.map(buildOf),
      last: lookedBack.get(item) ?? builds[index]!.flatMap(valuesOf).slice(-MOST_NAMED),
      ...(plan === undefined ? {} : { plan: await planOf({ histories }, plan, item) }),
    });
  }
  const used = planned.map(({ plan }) => plan).sort((a, b) => (a.revision.key < b.revision.key ? -1 : 1));
  const { recipe, recipeRevision } = contextOf(latest!.context);
  return {
    history: FamilyHistory.parse({
      format: 1,
      lastBuild: { lot: latest!.lot, build: latest!.build, recipe, recipeRevision },
      characteristics,
    }),
    plans: used.map(({ revision }) => asPinned(revision)),
    approvals: used.map(({ signed }) => signed),
  };
}

/** Of each planned characteristic the values of the last points of its chart. One that is a mean has all its values. */
async function lastOfPlans(
  histories: Reads['histories'],
  planned: readonly { readonly item: Characteristic; readonly lookBack: string[]; readonly plan: PlanInForce }[],
  want: (item: Characteristic, more: Partial<HistoryWant>) => HistoryWant,
): Promise<ReadonlyMap<Characteristic, FamilyValue[]>> {
  const wants = planned.map(({ item, lookBack, plan: { revision } }) => {
    const { subgroup } = revision.body;
    return { item, by: subgroup === 'none' ? undefined : subgroup, contexts: lookBack, values: true };
  });
  const single = wants.filter(({ by }) => by === undefined);
  const grouped = wants.filter(({ by }) => by !== undefined);
  const asked = (of: typeof wants) => of.map(({ item, ...more }) => want(item, more));
  const rows = single.length === 0 ? [] : await histories.rows(asked(single), MOST_NAMED);
  const groups = grouped.length === 0 ? [] : await histories.rowsOfLastGroups(asked(grouped), MOST_NAMED);
  return new Map([
    ...rows.map((own, index) => [single[index]!.item, own.flatMap(valuesOf).slice(-MOST_NAMED)] as const),
    ...groups.map((own, index) => [grouped[index]!.item, own.flatMap(valuesOf)] as const),
  ]);
}

const inOrder = (a: Row, b: Row): number =>
  a.closedAt === b.closedAt ? (a.build < b.build ? -1 : 1) : a.closedAt < b.closedAt ? -1 : 1;

const headOf = ({ position, digest }: HistoryHeadRow) => ({ position, digest });

const contextOf = (text: string): HistoryContext => HistoryContext.parse(JSON.parse(text));

/** Rows that hold nothing stand in place of what was said before. */
const saysSomething = ({ early, counted, takenOut }: HistoryContextFields): boolean =>
  takenOut > 0 || [early, counted].some(([n, bounds]) => n + bounds > 0);

/** Contexts that a pool admits, in their order. Days are asked for in the question itself. */
const admittedBy = (pool: Pool, rows: readonly HistoryContextFields[]): string[] => [
  ...new Set(
    rows
      .filter((row) => excludedBecause({ ...pool, from: undefined }, contextOf(row.context), '') === undefined)
      .map((row) => row.context),
  ),
];

/** Sums over contexts, in their order: those of each are about its own reference, and are put together pair by pair. */
export function poolTotals(
  rows: readonly HistoryContextFields[],
  members: HistoryMembersRow | undefined,
): CharacteristicHistory['pool'] {
  const counted = rows.filter((row) => row.counted[0] > 0);
  const [first, ...others] = counted.map(momentsOf);
  if (first === undefined) {
    return { n: 0, lots: 0, builds: 0, mean: null, sumSquaredDeviations: null, min: null, max: null };
  }
  const { n, mean, squares } = others.reduce(pooled, first);
  const sum = (of: (row: HistoryContextFields) => number) => counted.reduce((total, row) => total + of(row), 0);
  return {
    n,
    lots: members === undefined ? sum((row) => row.lots) : Number(members.lots),
    builds: members === undefined ? sum((row) => row.builds) : Number(members.builds),
    mean: stored(mean),
    sumSquaredDeviations: stored(squares),
    min: Math.min(...counted.map((row) => row.min!)),
    max: Math.max(...counted.map((row) => row.max!)),
  };
}

/** Count, mean, and sum of squared deviations from it. */
interface Moments {
  readonly n: number;
  readonly mean: number;
  readonly squares: number;
}

const momentsOf = ({ counted: [n], reference, deviations, squares }: HistoryContextFields): Moments => ({
  n,
  mean: reference! + deviations / n,
  squares: squares - (deviations * deviations) / n,
});

function pooled(a: Moments, b: Moments): Moments {
  const n = a.n + b.n;
  const apart = b.mean - a.mean;
  return { n, mean: a.mean + (apart * b.n) / n, squares: a.squares + b.squares + (apart * apart * a.n * b.n) / n };
}

const poolGroup = ({ characteristic }: Characteristic): string => canonicalJson([characteristic]);

const poolMembers = (item: Characteristic, rule: readonly string[]): HistoryMember[] =>
  rule.map((context) => ({
    ...{ group: poolGroup(item), characteristic: item.characteristic, context },
    ...{ early: false, of: 'values' },
  }));

type Exclusion = CharacteristicHistory['excluded'][number] & { readonly members: readonly HistoryMember[] };

/**
 * What the pool leaves out, by reason. Values that were reported as bounds are left out wherever they were made.
 * @returns with each reason the rows that it is said of; its lots are right where these are of one context.
 */
function exclusions(
  pool: Pool,
  { characteristic }: Characteristic,
  rows: readonly HistoryContextFields[],
): readonly Exclusion[] {
  const found = new Map<string, Exclusion>();
  const add = (
    why: Exclusion['why'],
    values: number,
    lots: number,
    member: Pick<HistoryMember, 'context' | 'early' | 'of'>,
  ) => {
    if (values === 0) return;
    const group = canonicalJson([characteristic, why]);
    const known = found.get(group) ?? { values: 0, lots: 0, members: [] };
    const members = [...known.members, { group, characteristic, ...member }];
    found.set(group, { why, values: known.values + values, lots: known.lots + lots, members });
  };
  for (const row of rows) {
    const [early, earlyBounds, earlyLots] = row.early;
    const [n, bounds, lots, lotsWithBounds] = row.counted;
    const { context: text } = row;
    const context = contextOf(text);
    // A day before every other stands for those that were built too early.
    if (earlyLots > 0) {
      const why = excludedBecause(pool, context, '')!;
      add(why, early + earlyBounds, earlyLots, { context: text, early: true, of: 'both' });
    }
    const why = excludedBecause(pool, context, ALWAYS);
    if (why) add(why, n + bounds, lots, { context: text, early: false, of: 'both' });
    else {
      add({ code: 'only a bound', facts: {} }, bounds, lotsWithBounds, { context: text, early: false, of: 'bounds' });
    }
  }
  return [...found.values()];
}

const buildOf = ({ lot, build, builtAt, n, mean, min, max, censored }: Row) => ({
  ...{ lot, build, builtAt, n, min, max, censored },
  mean: storedOrNull(mean),
});

const valuesOf = ({ lot, build, builtAt, values }: Row): FamilyValue[] =>
  (JSON.parse(values) as RowValue[]).map(([specimen, piece, replicate, value]) => ({
    ...{ lot, build, builtAt, specimen, piece, replicate, value },
  }));

const takenOutOf = ({ lot, build, takenOut }: Row): TakenOutValue[] =>
  (JSON.parse(takenOut) as RowTakenOut[]).map(([specimen, piece, replicate, value, cause, decidedBy]) => ({
    ...{ lot, build, specimen, piece, replicate, value, cause, decidedBy },
  }));

/** A plan with the values of its baseline as they stood when it was approved. What came in later moves no limit. */
async function planOf(
  { histories }: Pick<Reads, 'histories'>,
  { revision, signed, seq }: PlanInForce,
  item: Characteristic,
): Promise<CharacteristicHistory['plan']> {
  const { plan, family, characteristic, baseline } = revision.body;
  const [head] = await histories.heads(family, [characteristic], seq);
  const [rows] = baseline
    ? await histories.rows([{ family, characteristic, seq, before: ALWAYS, ...baseline, values: true }], LAST_ENTRY)
    : [[]];
  const pool = poolOfPlan(revision.body, item);
  return {
    ...{ plan, revision: revision.revision, approvedAt: signed.statement.at },
    head: head === undefined ? null : headOf(head),
    baseline: rows!
      .filter((row) => excludedBecause(pool, contextOf(row.context), row.builtAt) === undefined)
      .flatMap(valuesOf),
  };
}
