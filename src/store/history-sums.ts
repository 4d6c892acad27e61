import { type Alike, type AlikeBuilds, bothBuilds, buildName, buildOfRows } from './history-builds.js';

/** Of a row of the history, what sums are made of. */
export interface SummedRow {
  readonly lot: string;
  readonly build: string;
  /** As the lot file says it, and the same moment in UTC. */
  readonly builtAt: string;
  readonly closedAt: string;
  /** JSON. */
  readonly context: string;
  readonly n: number;
  readonly mean: number | null;
  readonly sumSquaredDeviations: number | null;
  readonly min: number | null;
  readonly max: number | null;
  readonly censored: number;
  readonly takenOutCount: number;
}

/** Values of one context together, how many were bounds, and how many were taken out. */
export type ContextSums = Omit<SummedRow, 'lot' | 'build' | 'builtAt' | 'closedAt'>;

/** Sums over rows, whichever contexts a pool admits. Those of whole lots can be put together with others. */
export interface HistorySums {
  /** In the order of their texts. */
  readonly contexts: readonly ContextSums[];
  readonly lots: readonly Alike[];
  readonly builds: readonly AlikeBuilds[];
}

/** Rows that hold nothing stand in place of what was said before. */
export const saysSomething = ({ n, censored, takenOutCount }: SummedRow): boolean => n + censored + takenOutCount > 0;

/** @param rows all that a lot has of a stretch of time, for each of the lots, each saying something. */
export function sumsOf(rows: readonly SummedRow[]): HistorySums {
  const ordered = [...rows].sort((a, b) => (orderOf(a) < orderOf(b) ? -1 : 1));
  const contexts = contextsOf(ordered);
  const places = placesOf(contexts);
  const placeOf = ({ context }: SummedRow) => places.get(context)!;
  const placesOfThose = (own: readonly SummedRow[], says: (row: SummedRow) => boolean) => [
    ...new Set(own.filter(says).map(placeOf)),
  ];
  const alikeOf = (own: readonly SummedRow[]): Alike =>
    alike(
      placesOfThose(own, ({ n }) => n > 0),
      placesOfThose(own, ({ censored }) => censored > 0),
      1,
    );
  return {
    contexts,
    lots: groupedBy(membersOf(ordered, ({ lot }) => lot).map(alikeOf), alikeName, bothCounts),
    builds: groupedBy(
      membersOf(ordered, ({ lot, build }) => `${lot}\n${build}`).map((own) => ({
        ...alikeOf(own),
        ...buildOfRows(own, placeOf),
      })),
      buildName,
      bothBuilds,
    ),
  };
}

/** Sums of different lots, in an order that is always the same: another one gives other last digits. */
export function together(all: readonly HistorySums[]): HistorySums {
  if (all.length === 1) return all[0]!;
  const contexts = contextsOf(all.flatMap((sums) => sums.contexts));
  const places = placesOf(contexts);
  // Contexts are everywhere in the order of their texts, so that places keep theirs.
  const movedIn =
    (sums: HistorySums) =>
    <T extends Alike>(one: T): T => {
      const moved = (own: readonly number[]) => own.map((place) => places.get(sums.contexts[place]!.context)!);
      return { ...one, ...alike(moved(one.values), moved(one.bounds), one.count) };
    };
  return {
    contexts,
    lots: groupedBy(
      all.flatMap((sums) => sums.lots.map(movedIn(sums))),
      alikeName,
      bothCounts,
    ),
    builds: groupedBy(
      all.flatMap((sums) => sums.builds.map(movedIn(sums))),
      buildName,
      bothBuilds,
    ),
  };
}

/** How many lots or builds have values, bounds, or any of them in one of some contexts. */
export function countIn(
  { contexts, ...sums }: HistorySums,
  which: 'lots' | 'builds',
  admitted: ReadonlySet<string>,
  of: 'values' | 'bounds' | 'both',
): number {
  const isAdmitted = (place: number) => admitted.has(contexts[place]!.context);
  return sums[which]
    .filter(
      ({ values, bounds }) =>
        (of !== 'bounds' && values.some(isAdmitted)) || (of !== 'values' && bounds.some(isAdmitted)),
    )
    .reduce((total, { count }) => total + count, 0);
}

/** Of what has values: n, mean, and sum of squared deviations from it. */
export interface Moments {
  readonly n: number;
  readonly mean: number;
  readonly sumSquaredDeviations: number;
}

/** Each about its own mean: no value of another size takes digits from the spread. */
export function pooled(a: Moments, b: Moments): Moments {
  const n = a.n + b.n;
  const apart = b.mean - a.mean;
  return {
    n,
    mean: a.mean + (apart * b.n) / n,
    sumSquaredDeviations: a.sumSquaredDeviations + b.sumSquaredDeviations + (apart * apart * a.n * b.n) / n,
  };
}

const orderOf = ({ closedAt, lot, build, context }: SummedRow): string => [closedAt, lot, build, context].join('\n');

const alike = (values: number[], bounds: number[], count: number): Alike => ({
  values: values.sort((a, b) => a - b),
  bounds: bounds.sort((a, b) => a - b),
  count,
});

const placesOf = (contexts: readonly ContextSums[]): ReadonlyMap<string, number> =>
  new Map(contexts.map(({ context }, place) => [context, place]));

const alikeName = ({ values, bounds }: Alike): string => JSON.stringify([values, bounds]);
const bothCounts = (a: Alike, b: Alike): Alike => ({ ...a, count: a.count + b.count });

function membersOf(rows: readonly SummedRow[], nameOf: (row: SummedRow) => string): SummedRow[][] {
  const found = new Map<string, SummedRow[]>();
  for (const row of rows) {
    const own = found.get(nameOf(row));
    if (own) own.push(row);
    else found.set(nameOf(row), [row]);
  }
  return [...found.values()];
}

/** Those without value and bound are no members of any group. */
function groupedBy<T extends Alike>(all: readonly T[], nameOf: (one: T) => string, both: (a: T, b: T) => T): T[] {
  const found = new Map<string, T>();
  for (const one of all) {
    if (one.values.length + one.bounds.length === 0) continue;
    const name = nameOf(one);
    const known = found.get(name);
    found.set(name, known ? both(known, one) : one);
  }
  return [...found].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, one]) => one);
}

function contextsOf(parts: readonly ContextSums[]): ContextSums[] {
  const found = new Map<string, ContextSums>();
  for (const part of parts) {
    const known = found.get(part.context);
    found.set(part.context, known ? both(known, part) : asContext(part));
  }
  return [...found.values()].sort((a, b) => (a.context < b.context ? -1 : 1));
}

const asContext = (part: ContextSums): ContextSums => {
  const { context, n, mean, sumSquaredDeviations, min, max, censored, takenOutCount } = part;
  return { context, n, mean, sumSquaredDeviations, min, max, censored, takenOutCount };
};

function both(a: ContextSums, b: ContextSums): ContextSums {
  const counts = { censored: a.censored + b.censored, takenOutCount: a.takenOutCount + b.takenOutCount };
  if (a.n === 0 || b.n === 0) return { ...asContext(a.n === 0 ? b : a), ...counts };
  return {
    ...{ context: a.context, ...pooled(a as Moments, b as Moments), ...counts },
    ...{ min: Math.min(a.min!, b.min!), max: Math.max(a.max!, b.max!) },
  };
}
