import type { Db } from './db.js';
import type { Topic } from './kept-topics.js';
import { KEPT_VIEWS, type KeptViewName } from './kept-view-names.js';
import type { KeptRow } from './questions.js';
import type { Recorder } from './recorder.js';

/** What is kept of a lot: `isBehind` where something that it rests on was touched since it was made, or other code made it. */
export interface KeptView {
  readonly lot: string;
  readonly isBehind: boolean;
  /** The entry of the ledger up to which it takes everything in. */
  readonly madeAt: number;
  /** As it was made, though it may be behind; undefined where this code did not make it. */
  readonly value: unknown;
  readonly marks: KeptMarks;
}

/** What lists ask of a lot. */
export interface KeptMarks {
  /** Nothing of the lot is left to decide. */
  readonly closed: boolean;
  /** It asks something of people all the same. */
  readonly asks: boolean;
  /** It waits to be assessed again. */
  readonly awaiting: boolean;
  /** Day by which lists are in order; `9999` where there is none. */
  readonly neededBy: string;
}

/** What was made of a lot, to be kept. */
export interface MadeView {
  readonly view: KeptViewName;
  readonly lot: string;
  readonly version: string;
  readonly madeAt: number;
  readonly marks: KeptMarks;
  readonly value: unknown;
  readonly topics: readonly Topic[];
}

/**
 * What follows of each lot from all else, kept for those that ask it often. It is no record: each change marks what it
 * touches, in its own transaction, and whoever finds a view behind makes it anew.
 */
export class KeptViews<R = unknown> {
  constructor(private readonly db: Db<R>) {}

  /** Whether every change up to now marked what it touched. If not, nothing that is kept counts. */
  async isWhole(): Promise<boolean> {
    const [row] = await this.db.ask(this.db.sql.KEPT_TO);
    return row !== undefined && Number(row.size) === Number(row.keptTo);
  }

  /** Lots of which a view has to be made anew, in the order of their codes. */
  async behind(view: KeptViewName, version: string): Promise<string[]> {
    return (await this.db.ask(this.db.sql.KEPT_BEHIND, view, version)).map(({ lot }) => lot);
  }

  async all(view: KeptViewName, version: string): Promise<KeptView[]> {
    return (await this.db.ask(this.db.sql.KEPT_ALL, view)).map((row) => asKept(row, version));
  }

  async of(view: KeptViewName, version: string, lots: readonly string[]): Promise<KeptView[]> {
    const rows = await this.db.ask(this.db.sql.KEPT_OF_LOTS, view, JSON.stringify(lots));
    return rows.map((row) => asKept(row, version));
  }

  /** Open lots, needed soonest first; then the others, the latest first. */
  async page(view: KeptViewName, version: string, page: { skip: number; most: number }): Promise<KeptView[]> {
    const { open } = await this.counts(view);
    const { KEPT_OPEN_PAGE, KEPT_CLOSED_PAGE } = this.db.sql;
    const rows = await this.db.ask(KEPT_OPEN_PAGE, view, page.most, page.skip);
    const skip = Math.max(0, page.skip - open);
    const left = page.most - rows.length;
    if (left > 0) rows.push(...(await this.db.ask(KEPT_CLOSED_PAGE, view, left, skip)));
    return rows.map((row) => asKept(row, version));
  }

  /** Every lot that is open, and those that ask something of people all the same. */
  async asking(view: KeptViewName, version: string): Promise<KeptView[]> {
    return (await this.db.ask(this.db.sql.KEPT_ASKING, view)).map((row) => asKept(row, version));
  }

  async counts(view: KeptViewName): Promise<{ lots: number; open: number; awaiting: number }> {
    const [row] = await this.db.ask(this.db.sql.KEPT_COUNTS, view);
    return { lots: Number(row!.lots), open: Number(row!.open), awaiting: Number(row!.awaiting) };
  }

  /** Numbers of the entries that are there. @param names kind and key of each. */
  async entryIds(names: readonly (readonly [kind: string, key: string])[]): Promise<number[]> {
    return (await this.db.ask(this.db.sql.ENTRY_IDS, JSON.stringify(names))).map(({ id }) => Number(id));
  }

  async keep(this: KeptViews<Recorder>, made: readonly MadeView[]): Promise<void> {
    const rows = JSON.stringify(
      made.map(({ marks, value, ...row }) => ({
        ...row,
        closed: Number(marks.closed),
        asks: Number(marks.asks),
        awaiting: Number(marks.awaiting),
        neededBy: marks.neededBy,
        body: JSON.stringify(value),
      })),
    );
    await this.db.tell(this.db.sql.KEPT_TOPICS_FORGET, rows);
    await this.db.tell(this.db.sql.KEPT_TOPICS_INSERT, rows);
    await this.db.tell(this.db.sql.KEPT_STORE, rows);
  }

  /** Forgets all, and names each lot as one of which everything has to be made: after changes that marked nothing. */
  async startOver(this: KeptViews<Recorder>): Promise<void> {
    const { db } = this;
    await db.tell(db.sql.KEPT_FORGET);
    await db.tell(db.sql.KEPT_TOPICS_FORGET_ALL);
    await db.tell(db.sql.KEPT_BEGIN_ALL, JSON.stringify(KEPT_VIEWS));
    await db.tell(db.sql.KEPT_TO_SET);
  }
}

function asKept({ lot, madeAt, touchedAt, body, neededBy, ...row }: KeptRow, version: string): KeptView {
  const isOwn = row.version === version;
  // Raw rows give numbers for true and false.
  const is = (value: KeptRow['closed']) => Number(value) === 1;
  const marks = { closed: is(row.closed), asks: is(row.asks), awaiting: is(row.awaiting), neededBy };
  const isBehind = !isOwn || Number(madeAt) < Number(touchedAt);
  return { lot, isBehind, madeAt: Number(madeAt), marks, value: isOwn ? JSON.parse(body) : undefined };
}
