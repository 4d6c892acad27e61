import fs from 'node:fs';
import Database from 'better-sqlite3';
import { z } from 'zod';
import { AnchorFile } from '../anchor-file.js';
import type { DataFolder } from '../data-folder.js';
import { Db } from '../db.js';
import type { AuditOptions, Engine } from '../engine.js';
import type { PrismaClient } from '../generated/client.js';
import type { LedgerReport } from '../ledger-report.js';
import type { RecordedTable } from '../recorded-table.js';
import { openReadingClient, openWritingClient } from './database-client.js';
import { copyDatabase } from './database-copy.js';
import { auditLedger, missing } from './ledger-audit.js';
import { migrate } from './migrate.js';
import { recordedTablesOf } from './recorded-tables.js';
import { takeServiceLock } from './service-lock.js';
import { SQLITE } from './statements.js';

const TRANSACTION_LIMIT_MS = 10 * 60_000;

/**
 * SQLite in the data folder. Reading has a connection of its own, since a plain call on the writing one would run inside
 * whatever transaction is open there.
 */
export class SqliteEngine implements Engine {
  readonly reading: Db;
  /** Opened by the first change: a command that only reads waits for no second client. */
  private writing: PrismaClient | undefined;
  private serviceLock: { close(): void } | undefined;

  private constructor(
    private readonly folder: DataFolder,
    /** Does nothing but stay open: the last connection to close folds the write-ahead log, which a reading one may not. */
    private readonly database: Database.Database,
    private readonly reader: PrismaClient,
    readonly tables: readonly RecordedTable[],
  ) {
    this.reading = new Db(reader, SQLITE, undefined);
  }

  static open(folder: DataFolder): SqliteEngine {
    refuseMissing(folder);
    const database = new Database(folder.database, { timeout: 10_000 });
    try {
      database.pragma('journal_mode = WAL');
      database.pragma('synchronous = FULL');
      migrate(database);
      return new SqliteEngine(folder, database, openReadingClient(folder.database), recordedTablesOf(database));
    } catch (error) {
      database.close();
      throw error;
    }
  }

  async transaction<T>(work: (db: Db) => Promise<T>): Promise<T> {
    this.writing ??= await openWritingClient(this.folder.database);
    return this.writing.$transaction((tx) => work(new Db(tx, SQLITE, undefined)), {
      timeout: TRANSACTION_LIMIT_MS,
      maxWait: TRANSACTION_LIMIT_MS,
    });
  }

  /** Prisma calls a locked database a time-out; the driver's own code is kept beside it. */
  isBusy(error: unknown): boolean {
    const failure = DriverFailure.safeParse(error);
    return failure.success && failure.data.meta.driverAdapterError.cause.originalCode.startsWith('SQLITE_BUSY');
  }

  becomeService(): void {
    this.serviceLock = takeServiceLock(this.folder.path);
  }

  get isService(): boolean {
    return this.serviceLock !== undefined;
  }

  audit(options: AuditOptions): Promise<LedgerReport> {
    return auditLedger(this.folder.database, options);
  }

  copy(target: string): Promise<number> {
    return copyDatabase(this.folder.database, target);
  }

  async close(): Promise<void> {
    await this.reader.$disconnect();
    await this.writing?.$disconnect();
    this.database.close();
    this.serviceLock?.close();
  }
}

const DriverFailure = z.object({
  meta: z.object({ driverAdapterError: z.object({ cause: z.object({ originalCode: z.string() }) }) }),
});

/**
 * A database that was renamed is not made anew: an empty one in its place would throw away the write-ahead log beside it, and
 * with that what was changed last.
 */
function refuseMissing({ database, path: folder }: DataFolder): void {
  if (!fs.existsSync(database) && AnchorFile.beside(folder).exists) throw missing(database);
}
