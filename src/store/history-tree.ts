import { type HistorySums, type SummedRow, saysSomething, sumsOf, together } from './history-sums.js';

/*
 * The lots of a family by the day on which the first of their builds was closed, summed for each day, each month of such
 * days, each year, and all: whoever asks for what was closed before a moment reads few sums, however many lots there are.
 * A lot is in them whole, so that it counts once.
 */

/** So much of a day names the period of a level: all, year, month, day. */
const LENGTHS = [0, 4, 7, 10] as const;
export const DAY = LENGTHS.length - 1;

export const periodAt = (level: number, day: string): string => day.slice(0, LENGTHS[level]);

/** Sums over the lots that began in a period. */
export interface HistoryNode {
  readonly level: number;
  readonly period: string;
  /** First and last closing of a build, in UTC, and the first and the last of their days as lot files say them. */
  readonly firstClosedAt: string;
  readonly lastClosedAt: string;
  readonly firstDay: string;
  readonly lastDay: string;
  /** Of a day. */
  readonly lots: readonly string[];
  readonly sums: HistorySums;
}

/** Rows of whole lots by the day, in UTC, on which their lot began. */
export function byDay<Row extends SummedRow>(rows: readonly Row[]): Map<string, Row[]> {
  const saying = rows.filter(saysSomething);
  const began = new Map<string, string>();
  for (const { lot, closedAt } of saying) {
    const known = began.get(lot);
    if (known === undefined || closedAt < known) began.set(lot, closedAt);
  }
  const found = new Map<string, Row[]>();
  for (const row of saying) {
    const day = periodAt(DAY, began.get(row.lot)!);
    const own = found.get(day);
    if (own) own.push(row);
    else found.set(day, [row]);
  }
  return found;
}

/** @param rows all of the lots that began on a day, each saying something. @returns undefined for none. */
export function dayNode(period: string, rows: readonly SummedRow[]): HistoryNode | undefined {
  if (rows.length === 0) return undefined;
  const closings = rows.map(({ closedAt }) => closedAt);
  const days = rows.map(({ builtAt }) => periodAt(DAY, builtAt));
  return {
    ...{ level: DAY, period },
    ...{ firstClosedAt: leastOf(closings)!, lastClosedAt: greatestOf(closings)! },
    ...{ firstDay: leastOf(days)!, lastDay: greatestOf(days)! },
    lots: [...new Set(rows.map(({ lot }) => lot))].sort(),
    sums: sumsOf(rows),
  };
}

/**
 * What is above days that changed.
 * @param known nodes of any level; of those above the days, at least the ones beside them.
 * @param days as they are now; undefined where nobody began on one any more.
 * @returns each node that changed, the days among them, and undefined for one that is gone.
 */
export function regrown(
  known: readonly HistoryNode[],
  days: ReadonlyMap<string, HistoryNode | undefined>,
): { readonly level: number; readonly period: string; readonly node: HistoryNode | undefined }[] {
  let beneath = days;
  const changed = [...days].map(([period, node]) => ({ level: DAY, period, node }));
  for (let level = DAY - 1; level >= 0; level -= 1) {
    const children = new Map(known.filter((node) => node.level === level + 1).map((node) => [node.period, node]));
    for (const [period, node] of beneath) {
      if (node) children.set(period, node);
      else children.delete(period);
    }
    const parents = new Map([...beneath.keys()].map((period) => [periodAt(level, period), [] as HistoryNode[]]));
    for (const node of children.values()) parents.get(periodAt(level, node.period))?.push(node);
    beneath = new Map([...parents].map(([period, own]) => [period, parentOf(level, period, own)]));
    for (const [period, node] of beneath) changed.push({ level, period, node });
  }
  return changed;
}

function parentOf(level: number, period: string, children: readonly HistoryNode[]): HistoryNode | undefined {
  if (children.length === 0) return undefined;
  const ordered = [...children].sort((a, b) => (a.period < b.period ? -1 : 1));
  return {
    ...{ level, period },
    firstClosedAt: leastOf(ordered.map((node) => node.firstClosedAt))!,
    lastClosedAt: greatestOf(ordered.map((node) => node.lastClosedAt))!,
    firstDay: leastOf(ordered.map((node) => node.firstDay))!,
    lastDay: greatestOf(ordered.map((node) => node.lastDay))!,
    lots: [],
    sums: together(ordered.map(({ sums }) => sums)),
  };
}

const leastOf = (texts: readonly string[]): string | undefined =>
  texts.reduce<string | undefined>((least, text) => (least === undefined || text < least ? text : least), undefined);
const greatestOf = (texts: readonly string[]): string | undefined =>
  texts.reduce<string | undefined>((most, text) => (most === undefined || text > most ? text : most), undefined);
