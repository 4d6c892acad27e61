import { canonicalJson } from '../dossier/canonical.js';
import { anyExposedApart } from '../dossier/exposed.js';
import type { CharacteristicHistory } from '../dossier/family-history.js';
import { type ExclusionReason, excludedBecause, HistoryContext, ofExposure, type Pool } from '../dossier/pool.js';
import { ALWAYS, type Histories, NEVER } from './histories.js';
import {
  type ContextSums,
  countIn,
  type HistorySums,
  type Moments,
  pooled,
  type SummedRow,
  saysSomething,
  sumsOf,
  together,
} from './history-sums.js';
import type { HistoryHeadRow, HistoryWant, LotRow } from './questions.js';

/** What a family made before a moment, in one characteristic. */
export interface EarlierSums {
  readonly head: HistoryHeadRow;
  readonly all: HistorySums;
  /** Of builds before the day from which they count, and of the others. */
  readonly early: HistorySums;
  readonly counted: HistorySums;
}

/** Of a lot that asks. */
export interface Asked {
  readonly family: string;
  readonly lot: string;
  /** Builds that were closed before this moment, in UTC. */
  readonly before: string;
  /** Day from which builds count; empty for all. */
  readonly from: string;
}

/** Sums of each characteristic that the family knows, of other lots. They are those at the heads. */
export async function earlierSums(
  histories: Histories,
  { family, lot, before, from }: Asked,
  characteristics: readonly string[],
): Promise<ReadonlyMap<string, EarlierSums>> {
  const found = await histories.sums(family, before, from, lot, characteristics);
  // Of a day on which only some is to be counted, lot by lot.
  const split = found.flatMap(({ characteristic, parts }) =>
    parts
      .flatMap(({ part, lots }) => (part === 'some' ? lots : []))
      .filter((other) => other !== lot)
      .map((other) => ({ family, characteristic, lot: other })),
  );
  const seq = Math.max(...found.map(({ ledgerSeq }) => ledgerSeq));
  const rows = (split.length === 0 ? [] : await histories.ofLots(split, seq)).filter(
    (row) => row.closedAt < before && saysSomething(row),
  );
  const isEarly = ({ builtAt }: SummedRow) => builtAt.slice(0, 10) < from;
  return new Map(
    found.map(({ parts, ...head }) => {
      const own = rows.filter((row) => row.characteristic === head.characteristic);
      const sumsWhere = (part: 'early' | 'counted') => [
        ...parts.filter((one) => one.part === part).map(({ sums }) => sums),
        sumsOf(own.filter((row) => isEarly(row) === (part === 'early'))),
      ];
      const whole = parts.filter(({ part }) => part !== 'some').map(({ sums }) => sums);
      const counted = together(sumsWhere('counted'));
      const all = from === NEVER ? counted : together([...whole, sumsOf(own)]);
      return [head.characteristic, { head, all, early: together(sumsWhere('early')), counted }];
    }),
  );
}

export const contextOf = (text: string): HistoryContext => HistoryContext.parse(JSON.parse(text));

/** Contexts that a pool admits, in their order. Days are asked for in the question itself. */
export const admittedBy = (pool: Pool, { contexts }: HistorySums): string[] =>
  contexts
    .map(({ context }) => context)
    .filter((text) => excludedBecause({ ...pool, from: undefined }, contextOf(text), '') === undefined);

/** Nine significant digits, as everything that is computed is stored. */
export const stored = (value: number): number => Number(value.toPrecision(9));

/** Rows that are looked at for one that says something: of most the last one does. */
const ROWS_LOOKED_AT = 20;

/**
 * The pooling rule of a specification names no medium, duration, face, sterilisation, flow, gas or temperature. Where it admits several, the last build says
 * which count: values of two are no values of one thing (docs/trade.md 6.4). Where that one has no exposure on record, only
 * those without count. A row of which every value was taken out says nothing of it.
 */
export async function oneExposure(
  histories: Histories,
  rule: Pool,
  sums: HistorySums,
  want: (contexts: readonly string[]) => HistoryWant,
): Promise<Pool> {
  const saying = new Set(sums.contexts.flatMap(({ context, n, censored }) => (n + censored > 0 ? [context] : [])));
  const admitted = admittedBy(rule, sums).filter((text) => saying.has(text));
  if (anyExposedApart(admitted.map(contextOf)) === undefined) return rule;
  for (let most = ROWS_LOOKED_AT; ; most *= ROWS_LOOKED_AT) {
    const [rows] = (await histories.rows([want(admitted)], most)) as [LotRow[]];
    const last = rows.findLast(({ n, censored }) => n + censored > 0);
    if (last !== undefined) return ofExposure(rule, contextOf(last.context).exposed);
    if (rows.length < most) return rule;
  }
}

/** Sums over the contexts that are admitted, put together in their order. */
export function poolTotals(sums: HistorySums, admitted: readonly string[]): CharacteristicHistory['pool'] {
  const of = new Set(admitted);
  const counted = sums.contexts.filter(({ context, n }) => n > 0 && of.has(context));
  const [first, ...others] = counted as readonly (ContextSums & Moments)[];
  if (first === undefined) {
    return { n: 0, lots: 0, builds: 0, ...NO_VALUES, min: null, max: null };
  }
  const total = others.reduce<Moments>(pooled, first);
  const { sizes, withinBuilds } = spreadByBuilds(sums, of, total);
  return {
    n: total.n,
    lots: countIn(sums, 'lots', of, 'values'),
    builds: countIn(sums, 'builds', of, 'values'),
    mean: stored(total.mean),
    sumSquaredDeviations: stored(total.sumSquaredDeviations),
    sumSquaredWithinBuilds: stored(withinBuilds),
    buildSizes: sizes.map(({ size, n, mean, sumSquaredDeviations }) => ({
      ...{ values: size, builds: n, mean: stored(mean), sumSquaredDeviations: stored(sumSquaredDeviations) },
    })),
    min: Math.min(...counted.map(({ min }) => min!)),
    max: Math.max(...counted.map(({ max }) => max!)),
  };
}

const NO_VALUES = { mean: null, sumSquaredDeviations: null, sumSquaredWithinBuilds: null, buildSizes: [] };

/** Nothing of the spread: what rounding leaves where the values of each build are equal. */
const NOTHING = 1e-9;

/**
 * Builds by how many values they have in the contexts that are admitted, and how much values deviate from the mean of their
 * build.
 * @param total of all these values.
 */
function spreadByBuilds(
  { contexts, builds }: HistorySums,
  admitted: ReadonlySet<string>,
  total: Moments,
): { readonly sizes: readonly (Moments & { readonly size: number })[]; readonly withinBuilds: number } {
  const found = new Map<number, Moments>();
  for (const group of builds) {
    const own = group.values.flatMap((place, index) => (admitted.has(contexts[place]!.context) ? [index] : []));
    if (own.length === 0) continue;
    const size = own.reduce((sum, index) => sum + group.sizes[index]!, 0);
    const share = (index: number) => group.sizes[index]! / size;
    const moments = {
      n: group.count,
      mean: own.reduce((sum, index) => sum + share(index) * group.means[index]!, 0),
      sumSquaredDeviations: own.reduce(
        (sum, a) =>
          own.reduce((rest, b) => rest + share(a) * share(b) * group.products[a * group.sizes.length + b]!, sum),
        0,
      ),
    };
    const known = found.get(size);
    found.set(size, known ? pooled(known, moments) : moments);
  }
  const sizes = [...found].sort(([a], [b]) => a - b).map(([size, moments]) => ({ size, ...moments }));
  const between = sizes.reduce(
    (sum, { size, n, mean, sumSquaredDeviations }) =>
      sum + size * (sumSquaredDeviations + n * (mean - total.mean) ** 2),
    0,
  );
  const within = total.sumSquaredDeviations - between;
  const isNothing = sizes.every(({ size }) => size === 1) || within <= NOTHING * total.sumSquaredDeviations;
  return { sizes, withinBuilds: isNothing ? 0 : within };
}

interface LeftOut {
  readonly why: ExclusionReason;
  readonly sums: HistorySums;
  readonly contexts: Set<string>;
  readonly of: 'both' | 'bounds';
}

/** What the pool leaves out, by reason. Values that were reported as bounds are left out wherever they were made. */
export function exclusions(pool: Pool, { all, early, counted }: EarlierSums): CharacteristicHistory['excluded'] {
  const found = new Map<string, LeftOut>();
  const add = (context: string, why: ExclusionReason, sums: HistorySums, of: LeftOut['of'] = 'both') => {
    const name = canonicalJson(why);
    if (!found.has(name)) found.set(name, { why, sums, contexts: new Set(), of });
    found.get(name)!.contexts.add(context);
  };
  for (const { context: text } of all.contexts) {
    const context = contextOf(text);
    // Days before and after every other stand for those that were built too early, and for the rest.
    const [before, after] = [NEVER, ALWAYS].map((day) => excludedBecause(pool, context, day));
    if (after && before?.code === after.code) add(text, after, all);
    else {
      if (before) add(text, before, early);
      if (after) add(text, after, counted);
      else add(text, { code: 'only a bound', facts: {} }, counted, 'bounds');
    }
  }
  return [...found.values()].map(excluded).filter(({ values }) => values > 0);
}

function excluded({ why, sums, contexts, of }: LeftOut): CharacteristicHistory['excluded'][number] {
  const values = sums.contexts
    .filter(({ context }) => contexts.has(context))
    .reduce((total, { n, censored }) => total + (of === 'both' ? n : 0) + censored, 0);
  return { why, values, lots: countIn(sums, 'lots', contexts, of) };
}
