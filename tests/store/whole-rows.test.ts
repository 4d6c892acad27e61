import fs from 'node:fs';
import path from 'node:path';
import Database from 'better-sqlite3';
import { storedFaultText } from '../../src/report/phrases/stored-faults.js';
import { auditLedger } from '../../src/store/sqlite/ledger-audit.js';
import { recordedTablesOf } from '../../src/store/sqlite/recorded-tables.js';
import { fillEveryTable, result } from './fill.js';
import { ACTOR, openStore, temporaryFolder } from './open-store.js';

/*
 * Every table that the ledger records, as the schema has them, attacked column by column: a new table is attacked here
 * without a line more. The guards are gone, as for an intruder who has the file.
 */

type Row = Readonly<Record<string, unknown>> & { readonly place: number; readonly ledgerSeq: number };

const { folder, remove } = temporaryFolder();
const file = path.join(folder, 'lotwright.sqlite');
let whole: Buffer;
let guarded: string[];
const tables: { readonly name: string; readonly columns: readonly string[]; readonly row: Row }[] = [];

beforeAll(async () => {
  const store = await openStore(folder);
  await store.change(ACTOR, fillEveryTable(store.key));
  const [first] = await store.read.results.current('L-1');
  const corrected = result({ value: '1.3', reason: 'misread', replacesId: first!.id });
  await store.change(ACTOR, (change) => change.results.add('L-1', 'results/thickness.csv', [corrected]));
  await store.close();
  const db = new Database(file);
  const triggers = db.prepare(`SELECT name, tbl_name AS "table" FROM sqlite_master WHERE type = 'trigger'`).all();
  guarded = [...new Set((triggers as { table: string }[]).map(({ table }) => table))].sort();
  for (const { name } of triggers as { name: string }[]) db.exec(`DROP TRIGGER "${name}"`);
  for (const { name, columns, following } of recordedTablesOf(db)) {
    const row = db.prepare(`SELECT rowid AS place, * FROM "${name}" ORDER BY rowid DESC`).get() as Row;
    tables.push({ name, columns: [...columns.map((column) => column.name), ...following], row });
  }
  db.close();
  whole = fs.readFileSync(file);
});
afterAll(() => remove());

/** What the check says of the entry that recorded a row, after somebody worked on the database. */
async function saidAfter(seq: number, sql: string, ...values: readonly unknown[]): Promise<string> {
  fs.writeFileSync(file, whole);
  const db = new Database(file);
  db.pragma('foreign_keys = OFF');
  expect(db.prepare(sql).run(...values).changes).toBe(1);
  db.close();
  const { faults } = await auditLedger(file);
  return faults.flatMap((fault) => (fault.seq === seq ? [storedFaultText(fault.fault)] : [])).join('; ');
}

const another = (value: unknown): unknown => (typeof value === 'number' ? value + 1000 : `${value ?? ''}-altered`);

it('records every guarded table beside the ledger itself', () => {
  expect([...tables.map(({ name }) => name), 'LedgerEntry', 'LedgerNode'].sort()).toEqual(guarded);
  expect(tables.map(({ name, row }) => [name, row === undefined])).toEqual(tables.map(({ name }) => [name, false]));
});

it('names the entry of a row of which any column was changed, and the table', async () => {
  for (const { name, columns, row } of tables) {
    for (const column of columns) {
      const sql = `UPDATE "${name}" SET "${column}" = ? WHERE rowid = ?`;
      const said = await saidAfter(row.ledgerSeq, sql, another(row[column]), row.place);
      expect([name, column, said]).toEqual([name, column, expect.stringMatching(` in ${name}(?: |,)`)]);
    }
  }
});

it('names the entry of a row that was removed, and the table', async () => {
  for (const { name, row } of tables) {
    const said = await saidAfter(row.ledgerSeq, `DELETE FROM "${name}" WHERE rowid = ?`, row.place);
    expect([name, said]).toEqual([name, expect.stringMatching(` in ${name} is gone|there are .* in ${name}`)]);
  }
});

it('names the entry to which a row was added, and the table', async () => {
  for (const { name, columns, row } of tables) {
    const own = columns.filter((column) => column !== 'ledgerSeq');
    const names = own.map((column) => `"${column}"`).join(', ');
    const sql = `INSERT INTO "${name}" (${names}, "ledgerSeq") VALUES (${own.map(() => '?').join(', ')}, ?)`;
    const values = own.map((column) => another(row[column]));
    const said = await saidAfter(row.ledgerSeq, sql, ...values, row.ledgerSeq);
    expect([name, said]).toEqual([name, expect.stringMatching(`there are .* rows in ${name}, and .* recorded`)]);
    expect([name, await saidAfter(9000, sql, ...values, 9000)]).toEqual([
      name,
      'it names entry 9000 of the audit trail, which does not record it',
    ]);
  }
});
