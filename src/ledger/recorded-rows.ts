import { createHash, type Hash, hash } from 'node:crypto';
import { z } from 'zod';
import type { RowsFault } from './stored-fault.js';

/**
 * What an entry says of the rows that it recorded: for each table how many, the number of the first where rows are
 * numbered, and the SHA-256 over all of them. A row is hashed whole, as the list of its values in the order of the columns,
 * but for what follows from the entry: its number, and when and by whom it was recorded. The rows of a table are one JSON
 * list, in the order of recording. A list of texts, numbers and nulls as JSON.stringify writes it is its canonical form
 * (RFC 8785) too.
 */
export const RecordedRows = z.record(
  z.string(),
  z.strictObject({
    rows: z.int().positive(),
    first: z.int().positive().optional(),
    sha256: z.string().regex(/^[0-9a-f]{64}$/),
  }),
);
export type RecordedRows = z.infer<typeof RecordedRows>;

/** Columns that follow from the entry, where a table has them. Rows are numbered one after the other. */
export const FOLLOWING = ['ledgerSeq', 'id', 'recordedAt', 'recordedOffset', 'actor'] as const;
export type Following = (typeof FOLLOWING)[number];

interface EntryOfRows {
  readonly seq: number;
  readonly at: string;
  readonly offset: string;
  readonly actor: string;
}

/** The value of such a column in the row that has this number. */
export function followingValue(column: Following, entry: EntryOfRows, id: number): string | number {
  switch (column) {
    case 'ledgerSeq':
      return entry.seq;
    case 'id':
      return id;
    case 'recordedAt':
      return entry.at;
    case 'recordedOffset':
      return entry.offset;
    case 'actor':
      return entry.actor;
  }
}

/** The rows of one table that name an entry, one after the other, so that memory does not grow with them. */
export class FoundRows {
  /** The first row: most entries record no other in a table, and one text is hashed at half the price. */
  private only = '';
  private hash: Hash | undefined;
  private count = 0;
  private fault: RowsFault | undefined;

  constructor(
    private readonly table: string,
    private readonly entry: EntryOfRows & { readonly tables: RecordedRows },
  ) {}

  /**
   * @param columns those of FOLLOWING that the table has, with their values in `following`.
   * @param values all others.
   */
  add(columns: readonly Following[], following: readonly unknown[], values: readonly unknown[]): void {
    const id = (this.entry.tables[this.table]?.first ?? 1) + this.count;
    columns.forEach((column, index) => {
      const [found, recorded] = [following[index], followingValue(column, this.entry, id)];
      if (found !== recorded) {
        const values = { found: String(found), recorded: String(recorded) };
        this.fault ??= { code: 'another value', facts: { table: this.table, column, ...values } };
      }
    });
    const text = JSON.stringify(values);
    if (this.count === 0) this.only = text;
    else {
      this.hash ??= createHash('sha256').update(`[${this.only}`);
      this.hash.update(`,${text}`);
    }
    this.count += 1;
  }

  /** What differs from what the entry recorded. */
  difference(): RowsFault | undefined {
    const { table, count } = this;
    const recorded = this.entry.tables[table];
    if (recorded === undefined) return { code: 'rows not recorded', facts: { table } };
    const { rows, sha256 } = recorded;
    if (count !== rows) return { code: 'another count of rows', facts: { table, found: count, recorded: rows } };
    if (this.fault !== undefined) return this.fault;
    const found = this.hash?.update(']').digest('hex') ?? hash('sha256', `[${this.only}]`, 'hex');
    if (found === sha256) return undefined;
    return { code: 'row changed', facts: { table, rows } };
  }
}

/** What differs between the rows that an entry recorded and those that were found. */
export function faultOfRows(recorded: RecordedRows, found: ReadonlyMap<string, FoundRows>): RowsFault | undefined {
  const gone = Object.keys(recorded).find((table) => !found.has(table));
  if (gone !== undefined) return { code: 'rows gone', facts: { table: gone, rows: recorded[gone]!.rows } };
  for (const rows of found.values()) {
    const fault = rows.difference();
    if (fault !== undefined) return fault;
  }
  return undefined;
}
