import { type Clock, stamp } from '../base/clock.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { type LedgerDraft, LedgerEntry } from '../ledger/entry.js';
import { followingValue, type RecordedRows } from '../ledger/recorded-rows.js';
import { type GrowingTree, leafHash } from '../ledger/tree.js';
import type { Db } from './db.js';
import { type Topic, touchedBy } from './kept-topics.js';
import { KEPT_VIEWS } from './kept-view-names.js';
import type { NewRows } from './new-rows.js';
import { newRowsText, type RecordedTable } from './recorded-table.js';

const ACTS: ReadonlySet<LedgerDraft['type']> = new Set([
  'event-recorded',
  'statement-signed',
  'record-issued',
  'capability-stated',
]);

/** What all rows of an entry share with it. */
interface Place {
  readonly seq: number;
  readonly at: string;
  readonly offset: string;
  readonly actor: string;
}

export interface Author {
  readonly actor: string;
  readonly clock: Clock;
  readonly demo: boolean;
}

/**
 * Rows without numbers, in the order of their keys, which stand first: no engine need remember in which order they came, and
 * they are hashed together.
 */
const inOrder = ({ columns }: RecordedTable, rows: readonly Record<string, unknown>[]) => {
  const keyOf = (row: Record<string, unknown>) => String(row[columns[0]!.name]);
  return rows.toSorted((a, b) => (keyOf(a) < keyOf(b) ? -1 : 1));
};

/** The one way in which a change stores what stays: rows together with the ledger entry that holds their digests. */
export class Recorder {
  private acted = false;
  private place: Place | undefined;
  private readonly nextIds = new Map<keyof NewRows, number>();
  private readonly touched = new Set<Topic>();
  private readonly lots = new Set<string>();
  /** Entries in the ledger before this change: they are stored. */
  readonly sizeBefore: number;

  constructor(
    private readonly db: Db,
    private readonly growing: GrowingTree,
    private readonly tables: readonly RecordedTable[],
    private readonly author: Author,
  ) {
    this.sizeBefore = growing.size;
  }

  /** Whether this change records what a person did, and not only what a program derived from it. */
  get hasActed(): boolean {
    return this.acted;
  }

  /** Entries in the ledger, with those of this change. */
  get ledgerSize(): number {
    return this.growing.size;
  }

  /** The tree that this change grows, with what it recorded so far. */
  get tree(): { readonly size: number; readonly root: string } {
    return { size: this.growing.size, root: this.growing.root() };
  }

  /** Where the next entry stands, and when and by whom it is recorded: what a person signs before it is. */
  get nextPlace(): Place {
    const { actor, clock } = this.author;
    const { utc, offset } = stamp(clock);
    this.place ??= { seq: this.growing.size + 1, at: utc, offset, actor };
    return this.place;
  }

  /** The number that the next row of a table gets. */
  async nextId(table: keyof NewRows): Promise<number> {
    const known = this.nextIds.get(table);
    if (known !== undefined) return known;
    const [last] = await this.db.ask(this.db.sql.lastIdOf(table));
    const next = Number(last!.id) + 1;
    this.nextIds.set(table, next);
    return next;
  }

  /**
   * Stores rows, and appends the entry that records them with the tree nodes that it completes: O(log n) rows.
   * @param shared values of columns that all these rows have in common.
   */
  async record<S extends object = Record<never, never>>(
    draft: LedgerDraft,
    rows: NewRows<keyof S>,
    shared?: S,
  ): Promise<void> {
    this.acted ||= ACTS.has(draft.type);
    for (const topic of touchedBy(draft, rows)) this.touched.add(topic);
    if (draft.type === 'revision-recorded' && draft.kind === 'lot') this.lots.add(draft.key);
    const { demo } = this.author;
    const place = this.nextPlace;
    this.place = undefined;
    const tables: RecordedRows = {};
    for (const [name, list] of Object.entries(rows) as [keyof NewRows, readonly Record<string, unknown>[]][]) {
      if (list.length > 0) tables[name] = await this.store(name, list, place, { ...shared });
    }
    const entry = LedgerEntry.parse({ ...draft, version: 1, ...place, tables, ...(demo ? { demo } : {}) });
    const body = canonicalJson(entry);
    const leaf = leafHash(body);
    await this.db.tell(this.db.sql.LEDGER_ENTRY_INSERT, place.seq, body, leaf);
    const nodes = this.growing.add(leaf);
    if (nodes.length > 0) await this.db.tell(this.db.sql.LEDGER_NODES_INSERT, JSON.stringify(nodes));
  }

  private async store(
    name: keyof NewRows,
    rows: readonly Record<string, unknown>[],
    place: Place,
    shared: Readonly<Record<string, unknown>>,
  ): Promise<RecordedRows[string]> {
    const table = this.tables.find((item) => item.name === name)!;
    const isNumbered = table.following.includes('id');
    const first = isNumbered ? await this.nextId(name) : 0;
    const following = table.following.map((column) => followingValue(column, place, first));
    const text = newRowsText(table, isNumbered ? rows : inOrder(table, rows), shared);
    await this.db.tell(table.insert, ...following, text);
    this.nextIds.set(name, first + rows.length);
    return { rows: rows.length, sha256: sha256Hex(text), ...(isNumbered ? { first } : {}) };
  }

  /** Leaves size and signed head for the next change, and marks what is kept of lots that this one touched. */
  async leaveHead(head: string): Promise<void> {
    const { db, lots, touched } = this;
    const { size } = this.growing;
    await db.tell(db.sql.KEPT_TOUCH, size, JSON.stringify([...touched]));
    if (lots.size > 0) await db.tell(db.sql.KEPT_BEGIN, size, JSON.stringify(KEPT_VIEWS), JSON.stringify([...lots]));
    await this.db.tell(this.db.sql.LEDGER_HEAD_UPDATE, this.growing.size, head);
  }
}
