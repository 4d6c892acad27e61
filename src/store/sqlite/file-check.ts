import Database from 'better-sqlite3';
import type { SchemaFault, StoredFault } from '../../ledger/stored-fault.js';
import type { Subject } from '../../ledger/subject.js';
import { guardFaults, schemaFaults } from './migrate.js';
import { FOREIGN_KEYS, INTEGRITY, TABLE_OF_INDEX } from './row-check.js';

/** Is told of everything that differs. */
type Tell = (subject: Subject, fault: StoredFault) => void;

/** A row of `PRAGMA foreign_key_check`. */
interface ForeignKeyFault {
  readonly table: string;
  readonly rowid: number | null;
  readonly parent: string;
}

/**
 * A damaged table or index no longer fits the statements that read it: then SQLite calls these wrong. A damaged pointer
 * may lead behind the end of the file.
 */
const DAMAGE = /^SQLITE_(?:CORRUPT|NOTADB|ERROR|MISMATCH|TOOBIG|IOERR_SHORT_READ)/;

/** Whether an error of the driver says that the file is damaged. */
export const isDamage = (error: unknown): boolean => DAMAGE.test((error as { code?: string }).code ?? '');

/** Pages and indexes, as SQLite sees them. */
export function checkFile(db: Database.Database, tell: Tell): void {
  for (const line of integrityLines(db)) {
    if (line !== 'ok') tell(rowBehind(db, line), { code: 'told by the engine', facts: { message: line } });
  }
}

/** Damage may end the integrity check itself; what comes behind it looks at each row all the same. */
function integrityLines(db: Database.Database): string[] {
  try {
    const rows = db.prepare(INTEGRITY).all() as { integrity_check: string }[];
    return rows.map((row) => row.integrity_check);
  } catch (error) {
    if (!isDamage(error)) throw error;
    return [(error as Error).message];
  }
}

/** The row that an index has lost, where a line of the integrity check tells of one. */
function rowBehind(db: Database.Database, line: string): Subject {
  const [, row, index] = /^row (\d+) missing from index (\S+)/.exec(line) ?? [];
  const found = index === undefined ? undefined : (db.prepare(TABLE_OF_INDEX).get(index) as { table: string });
  if (found === undefined) return { kind: 'database', key: 'lotwright.sqlite', revision: null };
  return { kind: found.table, key: `row ${row}`, revision: null };
}

/** Rows that belong together; tables, indexes and guards as this program makes them. */
export function checkSchema(db: Database.Database, tell: Tell): void {
  for (const { table, rowid, parent } of db.prepare(FOREIGN_KEYS).all() as ForeignKeyFault[]) {
    const key = rowid === null ? 'row' : `row ${rowid}`;
    tell({ kind: table, key, revision: null }, { code: 'parent row gone', facts: { table: parent } });
  }
  for (const [key, faults] of [
    ['guards', guardFaults(db)],
    ['tables and indexes', faultsOfSchema(db)],
  ] as const) {
    if (faults.length > 0) tell({ kind: 'database', key, revision: null }, { code: 'other schema', facts: { faults } });
  }
}

function faultsOfSchema(db: Database.Database): SchemaFault[] {
  const fresh = new Database(':memory:');
  try {
    return schemaFaults(db, fresh);
  } finally {
    fresh.close();
  }
}
