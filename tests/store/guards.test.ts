import path from 'node:path';
import Database from 'better-sqlite3';
import { fillEveryTable, result } from './fill.js';
import { ACTOR, openStore, temporaryFolder } from './open-store.js';

const { folder, remove } = temporaryFolder();
let db: Database.Database;

/** Tables that change in place: the lock row of the write door, who is signed in, forms that were sent, logs under way, and the migrations. */
const MUTABLE = [
  'LedgerLock',
  'Session',
  'Lockout',
  'SentForm',
  'Draft',
  'DraftFile',
  'ScanJob',
  'Lease',
  'Rate',
  'Generation',
  'HistorySum',
  'KeptView',
  'KeptTopic',
  '_prisma_migrations',
];

interface Column {
  readonly name: string;
  readonly type: string;
  readonly pk: number;
}

const columnsOf = (table: string): Column[] => db.pragma(`table_info("${table}")`) as Column[];

/** An INTEGER PRIMARY KEY is the row number itself. */
const rowNumberColumn = (table: string): string | undefined => {
  const [first, ...more] = columnsOf(table).filter((column) => column.pk > 0);
  return first?.type === 'INTEGER' && more.length === 0 ? first.name : undefined;
};

const uniqueKeysOf = (table: string): string[][] => {
  const indexes = db.pragma(`index_list("${table}")`) as { name: string; unique: number }[];
  return indexes
    .filter((index) => index.unique === 1)
    .map((index) => (db.pragma(`index_info("${index.name}")`) as { name: string }[]).map((column) => column.name));
};

const quoted = (names: readonly string[]): string => names.map((name) => `"${name}"`).join(', ');

const tables = (): string[] =>
  (db.prepare("SELECT name FROM sqlite_master WHERE type = 'table'").all() as { name: string }[])
    .map((row) => row.name)
    .filter((name) => !name.startsWith('sqlite_') && !MUTABLE.includes(name));

const rowsOf = (table: string): unknown[] => db.prepare(`SELECT rowid AS place, * FROM "${table}"`).all();

/** Another value of the same sort, so that a row differs outside the key that is attacked. */
const altered = (value: unknown): unknown => (typeof value === 'number' ? value + 1000 : `${value ?? ''}-altered`);

/** A row like the first stored one, with every column changed except those of the attacked key. */
function rowSharing(table: string, key: readonly string[]): Record<string, unknown> {
  const notNull = key.map((name) => `"${name}" IS NOT NULL`).join(' AND ');
  const row = db.prepare(`SELECT * FROM "${table}" WHERE ${notNull}`).get() as Record<string, unknown>;
  return Object.fromEntries(
    Object.entries(row).map(([name, value]) => [name, key.includes(name) ? value : altered(value)]),
  );
}

const insertSql = (verb: string, table: string, names: readonly string[]): string =>
  `${verb} INTO "${table}" (${quoted(names)}) VALUES (${names.map(() => '?').join(', ')})`;

beforeAll(async () => {
  const store = await openStore(folder);
  await store.change(ACTOR, fillEveryTable(store.key));
  const [first] = await store.read.results.current('L-1');
  const corrected = result({ value: '1.3', reason: 'misread', replacesId: first!.id });
  await store.change(ACTOR, (change) => change.results.add('L-1', 'results/thickness.csv', [corrected]));
  await store.close();
  db = new Database(path.join(folder, 'lotwright.sqlite'));
  // What a key refers to is not what is attacked here, and a refused reference must not pass for a working guard.
  db.pragma('foreign_keys = OFF');
});

afterAll(() => {
  db.close();
  remove();
});

/** Runs an attack and shows that it failed by the guard, and that the table is as it was. */
function expectRefused(table: string, attack: () => unknown): void {
  const before = rowsOf(table);
  expect(attack).toThrow(`${table} is append-only`);
  expect(rowsOf(table)).toEqual(before);
}

describe('guarded tables', () => {
  it('are all tables except the few that change in place, and the attacked database has rows in each', () => {
    expect(tables().length).toBeGreaterThan(12);
    for (const table of tables()) expect([table, rowsOf(table).length]).not.toEqual([table, 0]);
  });

  it('refuse UPDATE, of one column and of the row number', () => {
    for (const table of tables()) {
      for (const { name } of columnsOf(table)) {
        expectRefused(table, () => db.exec(`UPDATE "${table}" SET "${name}" = "${name}"`));
        expectRefused(table, () => db.exec(`UPDATE OR REPLACE "${table}" SET "${name}" = "${name}"`));
      }
      expectRefused(table, () => db.exec(`UPDATE "${table}" SET rowid = rowid + 1000`));
    }
  });

  it('refuse DELETE', () => {
    for (const table of tables()) expectRefused(table, () => db.exec(`DELETE FROM "${table}"`));
  });

  it.each(['INSERT OR REPLACE', 'REPLACE', 'INSERT OR IGNORE', 'INSERT'])('refuse %s over every key', (verb) => {
    for (const table of tables()) {
      const primary = columnsOf(table)
        .filter((column) => column.pk > 0)
        .map((column) => column.name);
      for (const key of [primary, ...uniqueKeysOf(table)]) {
        const row = rowSharing(table, key);
        const sql = insertSql(verb, table, Object.keys(row));
        expectRefused(table, () => db.prepare(sql).run(...Object.values(row)));
        // A key column turns a text into its number, but only after a guard written carelessly has compared it.
        expectRefused(table, () => db.prepare(sql).run(...Object.values(row).map((value) => `${value}`)));
      }
    }
  });

  // A table whose key is a text has a row number beside it: replacing by that number removes a row whose key differs.
  it('refuse INSERT OR REPLACE over the hidden row number, with another key', () => {
    const hidden = tables().filter((table) => rowNumberColumn(table) === undefined);
    expect(hidden).toContain('Evidence');
    for (const table of hidden) {
      const { place, ...row } = db.prepare(`SELECT rowid AS place, * FROM "${table}"`).get() as Record<string, unknown>;
      const sql = insertSql('INSERT OR REPLACE', table, Object.keys(row))
        .replace('(', '(rowid, ')
        .replace('(?', '(?, ?');
      expectRefused(table, () => db.prepare(sql).run(place, ...Object.values(row).map(altered)));
    }
  });

  it('refuse an upsert that would rewrite the row', () => {
    for (const table of tables()) {
      const key = columnsOf(table)
        .filter((column) => column.pk > 0)
        .map((column) => column.name);
      const row = rowSharing(table, key);
      const [other] = columnsOf(table).filter((column) => !key.includes(column.name));
      const changed = other ? `DO UPDATE SET "${other.name}" = excluded."${other.name}"` : 'DO NOTHING';
      const sql = `${insertSql('INSERT', table, Object.keys(row))} ON CONFLICT (${quoted(key)}) ${changed}`;
      expectRefused(table, () => db.prepare(sql).run(...Object.values(row)));
    }
  });

  it('still take new rows', () => {
    const before = rowsOf('Part').length;
    db.prepare(`INSERT INTO "Part" VALUES ('new', 1, 'text/csv', 'a')`).run();
    expect(rowsOf('Part').length).toBe(before + 1);
  });
});
