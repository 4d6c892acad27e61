import Database from 'better-sqlite3';
import { migrate } from '../sqlite/migrate.js';
import type { Connections } from './connection.js';
import { type Column, columnsOf } from './recorded-tables.js';

const ROWS_AT_ONCE = 1000;

/**
 * Writes all rows of a database, as of one moment, into a file of the first engine: what is checked, and what a backup
 * holds. So one check reads every engine, and a backup is read without any server.
 * @param target a file that is not there yet.
 */
export async function snapshot(sql: Connections, target: string): Promise<void> {
  const file = new Database(target);
  try {
    migrate(file);
    file.pragma('journal_mode = OFF');
    file.pragma('synchronous = OFF');
    // Rows come table by table, and some name one of a later table.
    file.pragma('foreign_keys = OFF');
    const columns = await columnsOf(sql);
    await sql.begin('ISOLATION LEVEL REPEATABLE READ READ ONLY', async (tx) => {
      for (const table of new Set(columns.map((column) => column.table))) {
        const own = columns.filter((column) => column.table === table);
        await copyTable(tx as unknown as Connections, file, table, own);
      }
    });
    file.pragma('foreign_keys = ON');
  } finally {
    file.close();
  }
}

async function copyTable(tx: Connections, file: Database.Database, table: string, columns: readonly Column[]) {
  const names = columns.map(({ name }) => `"${name}"`).join(', ');
  const insert = file.prepare(`INSERT INTO "${table}" (${names}) VALUES (${columns.map(() => '?').join(', ')})`);
  // 64 bits: the numbers of topics are larger than what a number of the program holds.
  const whole = columns.map(({ type }) => type === 'bigint');
  const store = file.transaction((rows: readonly unknown[][]) => {
    for (const row of rows) insert.run(row.map((value, place) => stored(value, whole[place]!)));
  });
  // As they are recorded. The server itself gives them as they lie: what fills a gap comes before what was there.
  const order = columns.some(({ name }) => name === 'id') ? 'id' : columns[0]!.name;
  const ask = `SELECT ${names} FROM "${table}" ORDER BY "${order}"`;
  for await (const rows of tx.unsafe(ask).values().cursor(ROWS_AT_ONCE)) {
    store(rows as unknown[][]);
  }
}

function stored(value: unknown, isWhole: boolean): unknown {
  if (isWhole && value !== null) return BigInt(value as number | string);
  return typeof value === 'boolean' ? Number(value) : value;
}
