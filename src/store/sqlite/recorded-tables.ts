import type Database from 'better-sqlite3';
import { FOLLOWING, type Following } from '../../ledger/recorded-rows.js';

/** A table whose rows the ledger records. */
export interface RecordedTable {
  readonly name: string;
  /** What is hashed, in this order. */
  readonly columns: readonly { readonly name: string; readonly isText: boolean }[];
  /** What follows from the entry that records a row. */
  readonly following: readonly Following[];
  /**
   * Takes all rows in one statement, as one JSON list of lists: row by row costs fifty times as much. Lists, not objects:
   * SQLite finds a field by its place in a third of the time that it needs by name; and `jsonb_each`, which hands each
   * row on already parsed, halves the time again. Parameters: what follows from the entry, for the first row; rows.
   */
  readonly insert: string;
}

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

type Values = Readonly<Record<string, unknown>>;

/**
 * New rows as they will be read back. Rows may bring numbers as text, where an empty text is no value.
 * @param shared what stands in columns that the rows leave out.
 */
export function newRowsText({ columns }: RecordedTable, rows: readonly Values[], shared: Values = {}): string {
  const stored = (value: unknown, isText: boolean) => {
    if (isText || value === null || value === undefined) return value ?? null;
    return value === '' ? null : Number(value);
  };
  return JSON.stringify(
    rows.map((row) => columns.map(({ name, isText }) => stored(row[name] ?? shared[name], isText))),
  );
}

/** The number of the last row of a table. */
export const lastIdOf = (table: string): string => `SELECT coalesce(max("id"), 0) AS "id" FROM "${table}"`;
