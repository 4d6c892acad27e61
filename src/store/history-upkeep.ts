import type { Db } from './db.js';
import type { SummedRow } from './history-sums.js';
import { byDay, DAY, dayNode, type HistoryNode, regrown } from './history-tree.js';

export interface Chained {
  readonly family: string;
  readonly characteristic: string;
}

type Row = SummedRow & Chained;

export const chainOf = ({ family, characteristic }: Chained): string => `${family}\n${characteristic}`;

/**
 * Makes the sums anew of the days on which a lot began and begins now, and of what is above these days.
 * @param db of a change, in which the rows of the lot are stored already.
 * @param changed where the lot says something else than before.
 * @param was its rows that stood before.
 */
export async function sumAgain(db: Db, lot: string, changed: readonly Chained[], was: readonly Row[]): Promise<void> {
  const rowsOf = async (lots: readonly (Chained & { readonly lot: string })[]) =>
    byChain(await db.ask(db.sql.HISTORY_OF_LOTS, Number.MAX_SAFE_INTEGER, JSON.stringify(lots)));
  const chains = [...byChain(changed).values()].map(([row]) => row!);
  const stood = byChain(was);
  const stands = await rowsOf(chains.map(({ family, characteristic }) => ({ family, characteristic, lot })));
  const days = chains.flatMap(({ family, characteristic }) => {
    const chain = chainOf({ family, characteristic });
    const began = [stood, stands].flatMap((rows) => [...byDay(rows.get(chain) ?? []).keys()]);
    return [...new Set(began)].map((day) => ({ family, characteristic, day }));
  });
  const beside = await db.ask(db.sql.HISTORY_BESIDE, JSON.stringify(days));
  const found = days.map((at, index) => ({ ...at, nodes: JSON.parse(beside[index]!.nodes) as HistoryNode[] }));
  const others = await rowsOf(
    found.flatMap(({ family, characteristic, day, nodes }) =>
      lotsOn(day, nodes)
        .filter((other) => other !== lot)
        .map((other) => ({ family, characteristic, lot: other })),
    ),
  );
  const grown = [...byChain(found)].flatMap(([chain, touched]) => {
    const { family, characteristic } = touched[0]!;
    const rows = byDay([...(others.get(chain) ?? []), ...(stands.get(chain) ?? [])]);
    const nodes = touched.flatMap((one) => one.nodes);
    const changedDays = new Map(touched.map(({ day }) => [day, dayNode(day, rows.get(day) ?? [])]));
    return regrown(nodes, changedDays).map((one) => ({ family, characteristic, ...one }));
  });
  const forgotten = grown.map(({ family, characteristic, level, period }) => [family, characteristic, level, period]);
  const made = grown.flatMap(({ family, characteristic, node }) =>
    node ? [sumColumns({ family, characteristic }, node)] : [],
  );
  await db.tell(db.sql.HISTORY_SUMS_FORGET, JSON.stringify(forgotten));
  await db.tell(db.sql.HISTORY_SUMS_INSERT, JSON.stringify(made));
}

const lotsOn = (day: string, nodes: readonly HistoryNode[]): readonly string[] =>
  nodes.find(({ level, period }) => level === DAY && period === day)?.lots ?? [];

/** The columns of a row of sums, in their order. */
export const sumColumns = ({ family, characteristic }: Chained, { lots, sums, ...node }: HistoryNode) => [
  ...[family, characteristic, node.level, node.period],
  ...[node.firstClosedAt, node.lastClosedAt, node.firstDay, node.lastDay],
  ...[JSON.stringify(lots), JSON.stringify(sums)],
];

function byChain<T extends Chained>(rows: readonly T[]): Map<string, T[]> {
  const found = new Map<string, T[]>();
  for (const row of rows) {
    const own = found.get(chainOf(row));
    if (own) own.push(row);
    else found.set(chainOf(row), [row]);
  }
  return found;
}
