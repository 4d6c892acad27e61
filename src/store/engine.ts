import type { Db } from './db.js';
import type { AuditOptions, LedgerReport } from './sqlite/ledger-audit.js';
import type { RecordedTable } from './sqlite/recorded-tables.js';

/** What an engine of the database does for the store. SQLite is the first; a further one has to pass the same tests. */
export interface Engine {
  readonly reading: Db;
  readonly tables: readonly RecordedTable[];
  /** Runs `work` on the writing side in one transaction, whole or not at all. */
  transaction<T>(work: (db: Db) => Promise<T>): Promise<T>;
  /** Whether an error says that others keep the database busy, and nothing else is wrong. */
  isBusy(error: unknown): boolean;
  /** Marks this process as the one service. The mark goes with the process. @throws AppError BUSY. */
  becomeService(): void;
  readonly isService: boolean;
  /** Holds every row against the ledger, as of one moment. */
  audit(options: AuditOptions): Promise<LedgerReport>;
  /** Copies the database into a file, while changes go on. @returns how many entries its audit trail has. */
  copy(target: string): Promise<number>;
  close(): Promise<void>;
}
