import {
  type CharacteristicHistory,
  FamilyHistory,
  MOST_NAMED,
  type StepSettings,
  stepSettings,
} from '../dossier/family-history.js';
import { poolOfPlan, poolOfRule } from '../dossier/pool.js';
import type { Pinned } from '../dossier/schema.js';
import type { SignedStatement } from '../dossier/statement.js';
import type { Lot } from '../kinds/lot.js';
import type { Characteristic, Specification } from '../kinds/specification.js';
import { asPinned } from './gathering.js';
import { ALWAYS, NEVER } from './histories.js';
import { admittedBy, contextOf, earlierSums, exclusions, oneExposure, poolTotals } from './history-pool.js';
import { buildOf, headOf, lastOfPlans, planOf, takenOutOf, valuesOf } from './history-values.js';
import { firstClosing, plansInForce } from './plans-in-force.js';
import type { HistoryWant, LotRow } from './questions.js';
import type { Reads } from './repositories.js';
import type { SharedFacts } from './shared-facts.js';

interface GatheredHistory {
  readonly history: FamilyHistory | undefined;
  /** Plans that it rests on, and the signatures that approved them, in the order of their names. */
  readonly plans: readonly Pinned[];
  readonly approvals: readonly SignedStatement[];
}

/**
 * What a lot file carries of the earlier builds of its family, as the history stands now: sums over what the pooling rule
 * admits, and single values only where a rule needs them. Neither its size nor its cost grows with the number of lots.
 */
export async function gatherHistory(
  { histories, ...read }: Pick<Reads, 'histories' | 'signatures' | 'events'>,
  shared: SharedFacts,
  lot: Lot,
  specification: Specification,
): Promise<GatheredHistory> {
  const { family } = lot;
  const names = specification.characteristics.map(({ characteristic }) => characteristic);
  const before = new Date(firstClosing(lot)).toISOString();
  const from = specification.pooling.from ?? NEVER;
  // A lot may have been summarised with a build of another day, and is no history of itself. Nor is the lot of its build.
  const except = lot.splitFrom ?? lot.lot;
  const sums = await earlierSums(histories, { family, lot: except, before, from }, names);
  const items = specification.characteristics.filter(
    ({ characteristic }) => (sums.get(characteristic)?.all.contexts ?? []).length > 0,
  );
  if (items.length === 0) return { history: undefined, plans: [], approvals: [] };
  // One moment for all questions: another lot may be summarised between two of them.
  const seq = Math.max(...[...sums.values()].map(({ head }) => head.ledgerSeq));
  const plans = await plansInForce(read, shared, lot);
  const want = ({ characteristic }: Characteristic, more: Partial<HistoryWant>): HistoryWant => ({
    ...{ family, characteristic, seq, before, except, from: NEVER, to: ALWAYS },
    ...more,
  });
  const found = [];
  for (const item of items) {
    const own = sums.get(item.characteristic)!;
    const plan = plans.get(item.characteristic);
    const all = poolOfRule(specification.pooling, item);
    const rule = await oneExposure(histories, all, own.all, (contexts) => want(item, { contexts, from }));
    const lookBack = plan === undefined ? rule : poolOfPlan(plan.revision.body, item);
    found.push({ item, own, plan, rule, admitted: admittedBy(rule, own.all), lookBack: admittedBy(lookBack, own.all) });
  }
  // Without a plan the last values are those of the last builds.
  const builds = await histories.rows(
    found.map(({ item, admitted, plan }) => want(item, { contexts: admitted, from, values: plan === undefined })),
    MOST_NAMED,
  );
  const planned = found.flatMap(({ item, lookBack, plan }) =>
    plan === undefined ? [] : [{ item, contexts: lookBack, plan }],
  );
  const lookedBack = await lastOfPlans(histories, planned, want);
  const losing = found.filter(({ own }) => takenOutIn(own.all) > 0).map(({ item }) => item);
  const lost = await histories.takenOut(
    losing.map((item) => want(item, {})),
    MOST_NAMED,
  );
  const takenOut = new Map(losing.map((item, index) => [item, lost[index]!.flatMap(takenOutOf).slice(-MOST_NAMED)]));
  const last = await histories.rows(
    found.map(({ item }) => want(item, {})),
    1,
  );
  const [latest] = last.flat().sort((a, b) => inOrder(b, a));
  const characteristics: CharacteristicHistory[] = [];
  for (const [index, { item, own, plan, rule, admitted }] of found.entries()) {
    characteristics.push({
      characteristic: item.characteristic,
      head: headOf(own.head),
      pool: poolTotals(own.counted, admitted),
      excluded: exclusions(rule, own),
      takenOut: { values: takenOutIn(own.all), last: takenOut.get(item) ?? [] },
      builds: builds[index]!.map(buildOf),
      last: lookedBack.get(item) ?? builds[index]!.flatMap(valuesOf).slice(-MOST_NAMED),
      ...(plan === undefined ? {} : { plan: await planOf(histories, plan, item) }),
    });
  }
  const used = planned.map(({ plan }) => plan).sort((a, b) => (a.revision.key < b.revision.key ? -1 : 1));
  const { recipe, recipeRevision } = contextOf(latest!.context);
  const settings = await settingsOfOther(shared, lot, recipe, recipeRevision);
  return {
    history: FamilyHistory.parse({
      format: 1,
      lastBuild: { lot: latest!.lot, build: latest!.build, recipe, recipeRevision, ...(settings && { settings }) },
      characteristics,
    }),
    plans: used.map(({ revision }) => asPinned(revision)),
    approvals: used.map(({ signed }) => signed),
  };
}

/** Undefined where a part of the lot is made by the same revision, which its lot file has whole. */
async function settingsOfOther(
  shared: SharedFacts,
  { implants, coupons }: Lot,
  code: string,
  revision: number,
): Promise<StepSettings[] | undefined> {
  const isOwn = [...implants, ...coupons].some(({ recipe }) => recipe.recipe === code && recipe.revision === revision);
  if (isOwn) return undefined;
  const found = (await shared.revisions('recipe', code)).find((item) => item.revision === revision);
  return found && stepSettings(found.body);
}

const takenOutIn = ({ contexts }: { readonly contexts: readonly { readonly takenOutCount: number }[] }): number =>
  contexts.reduce((sum, { takenOutCount }) => sum + takenOutCount, 0);

const inOrder = (a: LotRow, b: LotRow): number =>
  a.closedAt === b.closedAt ? (a.build < b.build ? -1 : 1) : a.closedAt < b.closedAt ? -1 : 1;
