import type Database from 'better-sqlite3';
import { laterForm } from '../../base/later-form.js';
import { SignedStatement } from '../../dossier/statement.js';
import { type LedgerEntry, subjectOfEntry } from '../../ledger/entry.js';
import { FoundRows, faultOfRows } from '../../ledger/recorded-rows.js';
import { faultOfSigned, type KnownKeys } from '../../ledger/signed-statement.js';
import type { StoredFault } from '../../ledger/stored-fault.js';
import type { Subject } from '../../ledger/subject.js';
import type { TimesInOrder } from '../../ledger/times-in-order.js';
import type { RecordedTable } from '../recorded-table.js';
import { recordedTablesOf } from './recorded-tables.js';
import { placeRange, placesOf, rowAt, seqAtPlace } from './row-check.js';

/**
 * Holds stored rows against the ledger entries that recorded them, entry by entry in the order of the ledger. Rows are
 * hashed afresh and whole: a digest that stands beside a text proves nothing.
 */
export class RowAudit {
  /** Rows looked at so far. */
  count = 0;
  private readonly places: Places[];

  /**
   * @param held what statements are held against; the entry that is checked is the last one that the times were told.
   * @param name is told of everything that differs.
   */
  constructor(
    db: Database.Database,
    private readonly held: { readonly keys: KnownKeys; readonly times: TimesInOrder },
    private readonly name: (subject: Subject, seq: number | null, fault: StoredFault) => void,
  ) {
    this.places = recordedTablesOf(db).map((table) => new Places(db, table, name));
  }

  /** Every row that names an entry up to this one: those of this entry must be what it recorded, others belong to none. */
  check(seq: number, entry: LedgerEntry | undefined): void {
    const found = new Map<string, FoundRows>();
    let fault: StoredFault | undefined;
    for (const place of this.places) {
      const { table } = place;
      for (let taken = place.take(seq); taken; taken = place.take(seq)) {
        this.count += 1;
        if (entry === undefined || taken.seq !== seq) this.addStray(table, taken);
        else if (taken.row === undefined) fault ??= taken.fault;
        else {
          const rows = found.get(table.name) ?? new FoundRows(table.name, entry);
          found.set(table.name, rows);
          const own = taken.row.slice(table.following.length);
          rows.add(table.following, taken.row, own);
          if (table.name === 'Signature') fault ??= this.faultOfSignature(table, own, seq);
        }
      }
    }
    if (!entry) return;
    fault = faultOfRows(entry.tables, found) ?? fault;
    if (fault !== undefined) this.name(subjectOfEntry(entry), seq, fault);
  }

  close(): void {
    for (const place of this.places) place.close();
  }

  private addStray(table: RecordedTable, { place, seq, row, fault }: TakenRow): void {
    const key = `row ${place}${row === undefined ? '' : namesIn(row.slice(table.following.length))}`;
    const subject = { kind: table.name, key, revision: null };
    this.name(subject, seq, fault ?? { code: 'row of no entry', facts: { seq } });
  }

  /** A statement speaks for itself too: under the keys of its person and of the installation. */
  private faultOfSignature({ columns }: RecordedTable, row: readonly unknown[], seq: number): StoredFault | undefined {
    const at = (name: string) => row[columns.findIndex((column) => column.name === name)];
    const value = {
      statement: jsonOf(at('statement')),
      digest: at('digest'),
      personSignature: at('personSignature'),
      signature: at('signature'),
    };
    const parsed = SignedStatement.safeParse(value);
    if (!parsed.success && laterForm(parsed.error, value) === undefined) return { code: 'no statement' };
    // What only a later version can state is signed over its whole text all the same.
    const signed = value as SignedStatement;
    const fault = faultOfSigned(signed, this.held.keys, seq);
    const { code, name } = signed.statement.person;
    if (fault !== undefined) return { code: 'statement does not hold', facts: { person: `${name} (${code})`, fault } };
    const untimely = this.held.times.faultOfStatement(signed.statement.at);
    return untimely && { code: 'time does not hold', facts: untimely };
  }
}

/** What people may know a row by: its short texts. */
function namesIn(row: readonly unknown[]): string {
  const texts = row.filter((value) => typeof value === 'string' && /^[^{[].{0,39}$/.test(value));
  return texts.length === 0 ? '' : ` (${texts.slice(0, 4).join(', ')})`;
}

function jsonOf(text: unknown): unknown {
  try {
    return JSON.parse(String(text));
  } catch {
    return undefined;
  }
}

const unreadableBy = (error: unknown): StoredFault => ({
  code: 'row not readable',
  facts: { message: (error as Error).message },
});

interface PlaceOfRow {
  readonly place: number;
  readonly seq: number;
}

interface TakenRow extends PlaceOfRow {
  /** Undefined when the row cannot be fetched: `fault` says what is wrong. */
  readonly row: readonly unknown[] | undefined;
  readonly fault?: StoredFault;
}

/** Rows of one table in the order of the ledger. */
class Places {
  private rows: Iterator<PlaceOfRow>;
  private next: PlaceOfRow | undefined;
  private readonly fetch: Database.Statement;

  /** @param name is told of rows whose place in the ledger cannot be read. */
  constructor(
    private readonly db: Database.Database,
    readonly table: RecordedTable,
    private readonly name: (subject: Subject, seq: null, fault: StoredFault) => void,
  ) {
    this.rows = db.prepare(placesOf(table)).iterate() as IterableIterator<PlaceOfRow>;
    this.fetch = db.prepare(rowAt(table)).raw();
    try {
      this.advance();
    } catch {
      // SQLite sorts before it gives the first row, so that one damaged page stands in the way of all.
      this.rows = this.oneByOne()[Symbol.iterator]();
      this.advance();
    }
  }

  /** Places of a table with damaged pages, each asked for by itself; the memory for them grows with the table. */
  private oneByOne(): PlaceOfRow[] {
    const { first, last } = this.db.prepare(placeRange(this.table)).get() as { first: number; last: number };
    const seqAt = this.db.prepare(seqAtPlace(this.table));
    const found: PlaceOfRow[] = [];
    for (let place = first; place <= last; place += 1) {
      try {
        const row = seqAt.get(place) as { seq: number } | undefined;
        if (row) found.push({ place, seq: row.seq });
      } catch (error) {
        this.name({ kind: this.table.name, key: `row ${place}`, revision: null }, null, unreadableBy(error));
      }
    }
    return found.sort((a, b) => a.seq - b.seq || a.place - b.place);
  }

  private advance(): void {
    this.next = this.rows.next().value as PlaceOfRow | undefined;
  }

  close(): void {
    this.rows.return?.();
  }

  /** The next row that names an entry up to `seq`. */
  take(seq: number): TakenRow | undefined {
    const { next } = this;
    if (next === undefined || next.seq > seq) return undefined;
    this.advance();
    try {
      return { ...next, row: this.fetch.get(next.place) as unknown[] | undefined };
    } catch (error) {
      return { ...next, row: undefined, fault: unreadableBy(error) };
    }
  }
}
