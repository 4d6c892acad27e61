import type Database from 'better-sqlite3';
import { FOLLOWING } from '../../ledger/recorded-rows.js';
import type { RecordedTable } from '../recorded-table.js';

interface ColumnInfo {
  readonly name: string;
  readonly type: string;
}

const TABLES = `SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name`;

/**
 * Every table that has a column `ledgerSeq`: such a table is recorded, and whatever is asked of it follows from the
 * schema. So a table is added in prisma/schema.prisma and nowhere else.
 */
export function recordedTablesOf(db: Database.Database): RecordedTable[] {
  const names = (db.prepare(TABLES).all() as { name: string }[]).map(({ name }) => name);
  return names.flatMap((name) => {
    const columns = db.pragma(`table_info("${name}")`) as ColumnInfo[];
    return columns.some((column) => column.name === 'ledgerSeq') ? [recordedTable(name, columns)] : [];
  });
}

function recordedTable(name: string, all: readonly ColumnInfo[]): RecordedTable {
  const following = FOLLOWING.filter((column) => all.some((found) => found.name === column));
  const own = all.filter((column) => !(FOLLOWING as readonly string[]).includes(column.name));
  const columns = [...following, ...own.map((column) => column.name)];
  const values = [...following.map((column) => (column === 'id' ? '? + row.key' : '?')), ...own.map(fieldOf)];
  // All rows in one statement: row by row costs fifty times as much. Lists, not objects: SQLite finds a field by its place
  // in a third of the time that it needs by name; and `jsonb_each`, which hands each row on parsed, halves that again.
  return {
    name,
    columns: own.map((column) => ({ name: column.name, isText: column.type === 'TEXT' })),
    following,
    insert: `
INSERT INTO "${name}" (${columns.map((column) => `"${column}"`).join(', ')})
SELECT ${values.join(', ')} FROM jsonb_each(?) AS row ORDER BY row.key`.trim(),
  };
}

function fieldOf({ type }: ColumnInfo, index: number): string {
  const field = `json_extract(row.value, '$[${index}]')`;
  return type === 'TEXT' ? field : `CAST(${field} AS ${type})`;
}
