import { FOLLOWING } from '../../ledger/recorded-rows.js';
import type { RecordedTable } from '../recorded-table.js';
import type { Connections } from './connection.js';
import { items } from './listed.js';

export interface Column {
  readonly table: string;
  readonly name: string;
  /** As the engine names it. */
  readonly type: string;
}

/** Every column of every table of ours, in the order in which they were made. The views of the standard take ten times as long. */
export const columnsOf = (sql: Connections): Promise<Column[]> =>
  sql<Column[]>`
    SELECT t.relname::text AS "table", c.attname::text AS "name", format_type(c.atttypid, c.atttypmod) AS "type"
    FROM pg_class t JOIN pg_attribute c ON c.attrelid = t.oid
    WHERE t.relnamespace = 'public'::regnamespace AND t.relkind = 'r' AND left(t.relname, 1) <> '_'
      AND c.attnum > 0 AND NOT c.attisdropped
    ORDER BY t.relname, c.attnum`;

/** Every table that has a column `ledgerSeq`: such a table is recorded, and whatever is asked of it follows from the schema. */
export function recordedTablesIn(all: readonly Column[]): RecordedTable[] {
  const names = [...new Set(all.map(({ table }) => table))];
  return names.flatMap((name) => {
    const columns = all.filter(({ table }) => table === name);
    return columns.some((column) => column.name === 'ledgerSeq') ? [recordedTable(name, columns)] : [];
  });
}

function recordedTable(name: string, all: readonly Column[]): RecordedTable {
  const following = FOLLOWING.filter((column) => all.some((found) => found.name === column));
  const own = all.filter((column) => !(FOLLOWING as readonly string[]).includes(column.name));
  const columns = [...following, ...own.map((column) => column.name)];
  const values = [
    ...following.map((column, place) => {
      const type = all.find((found) => found.name === column)!.type;
      return column === 'id' ? `$${place + 1}::bigint + row.key - 1` : `$${place + 1}::${type}`;
    }),
    ...own.map(({ type }, place) => (type === 'text' ? `row.value ->> ${place}` : `(row.value ->> ${place})::${type}`)),
  ];
  return {
    name,
    columns: own.map((column) => ({ name: column.name, isText: column.type === 'text' })),
    following,
    // All rows in one statement: row by row costs many times as much.
    insert: `
INSERT INTO "${name}" (${columns.map((column) => `"${column}"`).join(', ')})
SELECT ${values.join(', ')} FROM ${items(`$${following.length + 1}`, 'row')} ORDER BY row.key`.trim(),
  };
}
