import fs from 'node:fs';
import path from 'node:path';
import Database from 'better-sqlite3';
import { AppError } from '../../base/errors.js';
import { AnchorFile } from '../anchor-file.js';
import type { DataFolder } from '../data-folder.js';
import type { Relocated } from '../engine.js';
import { KeptFiles } from '../kept-files.js';
import { takeServiceLock } from '../sqlite/service-lock.js';
import { type Connections, connectTo, withoutPassword } from './connection.js';
import { PostgresqlEngine } from './postgresql-engine.js';
import { type Column, columnsOf } from './recorded-tables.js';

/** Values of one statement end at 65 535, and no table has so many columns. */
const ROWS_AT_ONCE = 500;

/** How long others may take to end what they do, in milliseconds. */
const PATIENCE_MS = 10_000;

/**
 * Moves what a data folder has in SQLite to an empty database of a server: all rows in one transaction, while nobody can
 * change them; then the whole is checked there, files too. The folder keeps its files and keys, and the former database as a
 * file that nobody writes any more.
 * @param owner address with the role that owns the tables.
 * @throws AppError CONFLICT when there is nothing to move, or something there already; BUSY while a service runs on the
 *   folder, or anything else has its database open; ALTERED when what arrived is not what left: then the folder stays as it was.
 */
export async function relocate(
  folder: DataFolder,
  url: string,
  owner: string,
  patienceMs = PATIENCE_MS,
): Promise<Relocated> {
  if (!folder.hasDatabase) throw new AppError('CONFLICT', `${folder.path} has no database of its own to move`);
  const service = takeServiceLock(folder.path);
  const from = new Database(folder.database, { timeout: patienceMs });
  try {
    shut(from, folder);
    const engine = await PostgresqlEngine.open(folder, url, owner);
    try {
      const rows = await fill(owner, from);
      const report = await engine.audit({ files: new KeptFiles(folder), anchor: AnchorFile.beside(folder.path) });
      const size = entriesOf(from);
      if (!report.ok || report.size !== size || headOf(from) !== (await lastHead(engine))) {
        throw new AppError(
          'ALTERED',
          `what arrived is not what left: ${report.faultCount} faults, ${report.size} of ${size} entries. The folder stays as it was; run check on it, and move it to another empty database`,
        );
      }
      from.exec('ROLLBACK');
      const kept = leave(folder, from);
      folder.with({ store: withoutPassword(url) });
      return { entries: size, rows, files: report.files ?? 0, kept };
    } finally {
      await engine.close();
    }
  } finally {
    from.close();
    service.close();
  }
}

/**
 * From here on nobody else reads or changes it until it is closed. A lock of one transaction would end before the file is put
 * away, and an act that waits for it would be stored there, where nothing opens it.
 */
function shut(from: Database.Database, folder: DataFolder): void {
  from.pragma('locking_mode = EXCLUSIVE');
  try {
    from.exec('BEGIN IMMEDIATE');
  } catch (error) {
    if (!(error instanceof Database.SqliteError && error.code.startsWith('SQLITE_BUSY'))) throw error;
    throw new AppError(
      'BUSY',
      `something else has the database of ${folder.path} open; the folder stays as it was: wait until it ends, or end it, and try again`,
    );
  }
}

/** Copies every row. @returns how many there are. */
async function fill(owner: string, from: Database.Database): Promise<number> {
  const sql = connectTo(owner, { most: 1, readsOnly: false });
  try {
    const columns = await columnsOf(sql);
    const tables = await inOrder(sql, [...new Set(columns.map(({ table }) => table))]);
    return await sql.begin(async (begun) => {
      const tx = begun as unknown as Connections;
      const [there] = await tx<{ count: number }[]>`SELECT count(*) AS "count" FROM "LedgerEntry"`;
      if (there!.count > 0)
        throw new AppError('CONFLICT', 'the database holds an audit trail already: name an empty one');
      let rows = 0;
      for (const table of tables) rows += await fillTable(tx, from, table, columns);
      return rows;
    });
  } finally {
    await sql.end();
  }
}

async function fillTable(
  tx: Connections,
  from: Database.Database,
  table: string,
  all: readonly Column[],
): Promise<number> {
  const columns = all.filter((column) => column.table === table);
  const names = columns.map(({ name }) => name);
  const ask = from.prepare(`SELECT ${names.map((name) => `"${name}"`).join(', ')} FROM "${table}"`).safeIntegers();
  let count = 0;
  let rows: Record<string, unknown>[] = [];
  const send = async () => {
    if (rows.length > 0) await tx`INSERT INTO ${tx(table)} ${tx(rows as never, names as never)}`;
    count += rows.length;
    rows = [];
  };
  for (const row of ask.iterate() as IterableIterator<Record<string, unknown>>) {
    for (const { name, type } of columns) if (type === 'boolean') row[name] = Number(row[name]) === 1;
    rows.push(row);
    if (rows.length === ROWS_AT_ONCE) await send();
  }
  await send();
  // The next row gets the next number.
  if (names.includes('id')) {
    await tx`SELECT setval(s.place, (SELECT coalesce(max("id"), 0) + 1 FROM ${tx(table)}), false)
      FROM (SELECT pg_get_serial_sequence(${`"${table}"`}, 'id') AS place) s WHERE s.place IS NOT NULL`;
  }
  return count;
}

/** Tables, each behind those whose rows its own name. */
async function inOrder(sql: Connections, tables: readonly string[]): Promise<string[]> {
  const named = await sql<{ from: string; to: string }[]>`
    SELECT own.relname AS "from", other.relname AS "to"
    FROM pg_constraint c JOIN pg_class own ON own.oid = c.conrelid JOIN pg_class other ON other.oid = c.confrelid
    WHERE c.contype = 'f' AND own.relname <> other.relname`;
  const placed: string[] = [];
  while (placed.length < tables.length) {
    const next = tables.filter(
      (table) => !placed.includes(table) && named.every(({ from, to }) => from !== table || placed.includes(to)),
    );
    if (next.length === 0) throw new AppError('UNEXPECTED', 'tables name one another in a circle');
    placed.push(...next);
  }
  return placed;
}

const entriesOf = (from: Database.Database): number =>
  (from.prepare('SELECT count(*) AS "size" FROM "LedgerEntry"').get() as { size: number }).size;

const headOf = (from: Database.Database): string | null =>
  (from.prepare('SELECT "head" FROM "LedgerLock"').get() as { head: string | null }).head;

const lastHead = async ({ reading }: PostgresqlEngine): Promise<string | null> =>
  (await reading.ask(reading.sql.LEDGER_LEFT))[0]?.head ?? null;

/**
 * Folds what is written beside the file into it, and puts it where nothing opens it: before it is closed, so that whoever waits
 * for it finds that it was moved, and stores nothing there.
 * @returns its name.
 */
function leave(folder: DataFolder, from: Database.Database): string {
  from.pragma('wal_checkpoint(TRUNCATE)');
  from.pragma('journal_mode = DELETE');
  const kept = `${folder.database}.moved`;
  fs.renameSync(folder.database, kept);
  fs.chmodSync(kept, 0o400);
  return path.basename(kept);
}
