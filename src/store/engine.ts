import type { Note } from '../ledger/checkpoint.js';
import type { AnchorFile } from './anchor-file.js';
import type { DataFolder } from './data-folder.js';
import type { Db } from './db.js';
import type { KeptFiles } from './kept-files.js';
import type { LedgerReport } from './ledger-report.js';
import type { RecordedTable } from './recorded-table.js';

/** What an engine of the database does for the store. There are two, which pass the same tests. */
export interface Engine {
  readonly reading: Db;
  readonly tables: readonly RecordedTable[];
  /** Runs `work` on the writing side in one transaction, whole or not at all. */
  transaction<T>(work: (db: Db) => Promise<T>): Promise<T>;
  /** Whether an error says that others keep the database busy, and nothing else is wrong. */
  isBusy(error: unknown): boolean;
  /** Whether others may serve the same database at the same time, each by a process of its own. */
  readonly isShared: boolean;
  /**
   * Marks this process as a service on the folder: the one, or one of several where the database is shared. The mark goes with
   * the process. @throws AppError BUSY.
   */
  becomeService(): void;
  /** Marks this process as the only one that may change what services rely on. @throws AppError BUSY while one runs. */
  standAlone(): void;
  /** Holds every row against the ledger, as of one moment. */
  audit(options: AuditOptions): Promise<LedgerReport>;
  /** Copies the database into a file, while changes go on. @returns how many entries its audit trail has. */
  copy(target: string): Promise<number>;
  close(): Promise<void>;
}

/** What may be asked of an engine before a database is open, or where it cannot be opened. */
export interface EngineOfFolders {
  /** Opens the database of a folder, brings it to this program's schema, and checks the guards. */
  open(folder: DataFolder): Promise<Engine>;
  /**
   * The same for one task of a worker thread, which does many: where the way to the database is long, it stays open for the
   * next task, as long as the thread lives. Whoever borrows it closes it all the same.
   */
  lend(folder: DataFolder): Promise<Engine>;
  /**
   * Holds the whole database against its ledger, and names what differs. It sees one moment, whatever goes on meanwhile.
   * @param file the database. It is only read, and need not be of an open store.
   * @throws AppError ALTERED when a known key did not sign the kept head, or the file is damaged beyond reading.
   */
  audit(file: string, options?: AuditOptions): Promise<LedgerReport>;
  /** The same of the database of a data folder, wherever it is. */
  auditFolder(folder: DataFolder, options?: AuditOptions): Promise<LedgerReport>;
  /** Moves the database of a data folder to a server, as `relocate` of the second engine says. */
  relocate(folder: DataFolder, url: string, owner: string): Promise<Relocated>;
  /**
   * Takes the mark of whoever is alone on a data folder.
   * @returns what to close in order to give the mark back.
   * @throws AppError BUSY when another process or store holds it.
   */
  takeServiceLock(folder: string): { close(): void };
}

/** What was moved to a server. */
export interface Relocated {
  readonly entries: number;
  readonly rows: number;
  /** That were hashed again. */
  readonly files: number;
  /** Name of the former database. */
  readonly kept: string;
}

export interface AuditOptions {
  /** A head that was kept outside. */
  readonly head?: Note | undefined;
  /** What is kept outside the database, to hold it against. */
  readonly anchor?: Pick<AnchorFile, 'read'> | undefined;
  /** Evidence, records and archives of raw rows, to hash again. */
  readonly files?: KeptFiles | undefined;
}
