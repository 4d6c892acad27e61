import fs from 'node:fs';
import path from 'node:path';
import Database from 'better-sqlite3';
import { auditLedger } from '../../src/store/sqlite/ledger-audit.js';
import type { Sql } from '../support/intruder.js';
import { fillEveryTable } from './fill.js';
import { ACTOR, openStore, temporaryFolder } from './open-store.js';

const MODELS = fs
  .readFileSync(path.resolve('prisma', 'schema.prisma'), 'utf8')
  .split(/^model /m)
  .slice(1)
  .map((text) => ({ name: text.split(' ')[0]!, isRecorded: /^\s+ledgerSeq\s/m.test(text.split('\n}')[0]!) }));

/** The list of docs/audit-trail.md: each table, and what it is held against; nothing for one that changes in place. */
const LISTED = new Map(
  [
    ...fs
      .readFileSync(path.resolve('docs', 'audit-trail.md'), 'utf8')
      .split('\n## What is compared with what\n')[1]!
      .matchAll(/^\| `(\w+)` \| (.+) \|$/gm),
  ].map(([, name, against]) => [name!, against!] as const),
);
const BY_ITS_ENTRY = 'the entry that recorded it';
const NOTHING = /^nothing: /;

const { folder, remove } = temporaryFolder();
const file = path.join(folder, 'lotwright.sqlite');
afterAll(remove);

it('every table of the database is listed with what it is held against', () => {
  expect([...LISTED.keys()].sort()).toEqual([...MODELS.map(({ name }) => name), '_prisma_migrations'].sort());
  for (const { name, isRecorded } of MODELS) {
    expect([name, LISTED.get(name) === BY_ITS_ENTRY]).toEqual([name, isRecorded]);
  }
});

it('only the tables that change in place have no guards, and those that are held against nothing are among them', () => {
  const script = fs.readFileSync(path.resolve('scripts', 'write-migration.mjs'), 'utf8');
  const mutable = [.../const MUTABLE = new Set\(\[([^\]]*)\]\)/.exec(script)![1]!.matchAll(/'(\w+)'/g)].map(
    ([, name]) => name,
  );
  const unheld = [...LISTED].filter(([, against]) => NOTHING.test(against)).map(([name]) => name);
  expect(unheld.sort()).toEqual([
    ...['Draft', 'DraftFile', 'Generation', 'KeptTopic', 'KeptView', 'Lease', 'Lockout', 'Rate', 'ScanJob', 'SentForm'],
    ...['Session'],
  ]);
  expect(mutable).toEqual(expect.arrayContaining(unheld));
});

describe('a changed value', () => {
  let sql: Sql;
  beforeAll(async () => {
    const store = await openStore(folder);
    await store.change(ACTOR, fillEveryTable(store.key));
    await store.close();
    expect(await auditLedger(file)).toMatchObject({ ok: true });
    sql = new Database(file);
    sql.pragma('foreign_keys = OFF');
    const guards = sql.prepare("SELECT name FROM sqlite_master WHERE type = 'trigger'").pluck().all() as string[];
    for (const guard of guards) sql.exec(`DROP TRIGGER "${guard}"`);
  });
  afterAll(() => sql.close());

  /** Beside the guards, which are gone. */
  const faults = async () => (await auditLedger(file)).faults.filter(({ key }) => key !== 'guards');

  const held = MODELS.filter(({ name }) => !NOTHING.test(LISTED.get(name)!));
  it.each(held.map(({ name }) => [name]))('in any column of %s is named', async (table) => {
    const columns = (sql.pragma(`table_info("${table}")`) as { name: string }[]).map(({ name }) => name);
    const last = sql.prepare(`SELECT * FROM "${table}" ORDER BY rowid DESC`).raw().get() as unknown[];
    const place = sql.prepare(`SELECT max(rowid) FROM "${table}"`).pluck().get() as number;
    for (const [index, column] of columns.entries()) {
      const value = last[index];
      const other = typeof value === 'number' ? value + 1000 : `${value ?? ''}x`;
      const set = sql.prepare(`UPDATE "${table}" SET "${column}" = ? WHERE rowid = ?`);
      set.run(other, place);
      expect([column, (await faults()).length]).not.toEqual([column, 0]);
      set.run(value, column === 'id' || column === 'seq' ? other : place);
    }
    expect(await faults()).toEqual([]);
  });
});
