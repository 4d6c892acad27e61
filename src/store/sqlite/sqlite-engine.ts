import fs from 'node:fs';
import Database from 'better-sqlite3';
import { Turns } from '../../base/turns.js';
import { AnchorFile } from '../anchor-file.js';
import type { DataFolder } from '../data-folder.js';
import { Db } from '../db.js';
import type { AuditOptions, Engine } from '../engine.js';
import type { PrismaClient } from '../generated/client.js';
import type { LedgerReport } from '../ledger-report.js';
import type { RecordedTable } from '../recorded-table.js';
import { Connection } from './connection.js';
import { copyDatabase } from './database-copy.js';
import { auditLedger, missing } from './ledger-audit.js';
import { migrate } from './migrate.js';
import { recordedTablesOf } from './recorded-tables.js';
import { takeServiceLock } from './service-lock.js';
import { SQLITE } from './statements.js';

/** A long answer does not hold up a short one: the engine answers at once, and so a page would never be put aside. */
const STRETCH_MS = 10;

/**
 * SQLite in the data folder. Reading has a connection of its own, since a plain call on the writing one would run inside
 * whatever transaction is open there.
 */
export class SqliteEngine implements Engine {
  readonly reading: Db;
  private readonly reader: Side;
  /** Opened by the first change: a command that only reads waits for no second connection. */
  private writer: Side | undefined;
  private serviceLock: { close(): void } | undefined;

  private constructor(
    private readonly folder: DataFolder,
    /** Does nothing but stay open: the last connection to close folds the write-ahead log, which a reading one may not. */
    private readonly database: Database.Database,
    readonly tables: readonly RecordedTable[],
    private readonly loadClient: LoadClient,
  ) {
    this.reader = new Side(forReading(folder.database), loadClient);
    this.reading = new Db(() => this.reader.client(), SQLITE, undefined, this.reader.connection);
  }

  /** @param loadClient gives the database client over a connection, for whoever asks for it first. */
  static open(folder: DataFolder, loadClient: LoadClient = loadDatabaseClient): SqliteEngine {
    refuseMissing(folder);
    const database = new Database(folder.database, { timeout: 10_000 });
    try {
      database.pragma('journal_mode = WAL');
      database.pragma('synchronous = FULL');
      migrate(database);
      return new SqliteEngine(folder, database, recordedTablesOf(database), loadClient);
    } catch (error) {
      database.close();
      throw error;
    }
  }

  transaction<T>(work: (db: Db) => Promise<T>): Promise<T> {
    const side = this.writing();
    return side.connection.transaction((own) => {
      const client = async () => {
        own.refuseEnded();
        return side.client();
      };
      return work(new Db(client, SQLITE, undefined, own));
    });
  }

  isBusy(error: unknown): boolean {
    return error instanceof Database.SqliteError && error.code.startsWith('SQLITE_BUSY');
  }

  readonly isShared = false;

  standAlone(): void {
    this.serviceLock = takeServiceLock(this.folder.path);
  }

  becomeService(): void {
    this.standAlone();
    // Else the first form would have its change wait for the client, and everybody for that change.
    try {
      this.writing().prepare();
    } catch (error) {
      // The first change opens it.
      if (!this.isBusy(error)) throw error;
    }
  }

  private writing(): Side {
    this.writer ??= new Side(forWriting(this.folder), this.loadClient);
    return this.writer;
  }

  audit(options: AuditOptions): Promise<LedgerReport> {
    return auditLedger(this.folder.database, options);
  }

  copy(target: string): Promise<number> {
    return copyDatabase(this.folder.database, target);
  }

  async close(): Promise<void> {
    try {
      await Promise.all([this.reader.close(), this.writer?.close()]);
    } finally {
      this.database.close();
      this.serviceLock?.close();
    }
  }
}

/** A connection, and the database client over it once somebody asks it: to load it takes longer than most commands do. */
class Side {
  private loaded: Promise<PrismaClient> | undefined;

  constructor(
    readonly connection: Connection,
    private readonly loadClient: LoadClient,
  ) {}

  /** One that could not be loaded is loaded anew by the next that asks. */
  client(): Promise<PrismaClient> {
    this.loaded ??= this.loadClient(this.connection).catch((error) => {
      this.loaded = undefined;
      throw error;
    });
    return this.loaded;
  }

  /** Has the client loaded while nobody waits for it. A failure is told to the first that asks for it. */
  prepare(): void {
    this.client()
      .then((client) => client.$connect())
      .catch(() => undefined);
  }

  async close(): Promise<void> {
    try {
      const client = await this.loaded?.catch(() => undefined);
      await client?.$disconnect();
    } finally {
      this.connection.close();
    }
  }
}

type LoadClient = (connection: Connection) => Promise<PrismaClient>;

export async function loadDatabaseClient(connection: Connection): Promise<PrismaClient> {
  const { clientOver } = await import('./database-client.js');
  return clientOver(connection);
}

const forReading = (file: string): Connection =>
  new Connection(new Database(file, { readonly: true, timeout: 1000 }), new Turns(STRETCH_MS));

/** Waiting would block the event loop, so this one does not wait: the write door does. */
function forWriting(folder: DataFolder): Connection {
  const database = new Database(folder.database, { timeout: 0 });
  try {
    // WAL reopens with synchronous = NORMAL, which may lose the last commits at a power cut.
    database.pragma(`synchronous = ${folder.waitsForDisk ? 'FULL' : 'NORMAL'}`);
    database.pragma('foreign_keys = ON');
    return new Connection(database);
  } catch (error) {
    // The door tries again, with another one.
    database.close();
    throw error;
  }
}

/**
 * A database that was renamed is not made anew: an empty one in its place would throw away the write-ahead log beside it, and
 * with that what was changed last.
 */
function refuseMissing({ database, path: folder }: DataFolder): void {
  if (!fs.existsSync(database) && AnchorFile.beside(folder).exists) throw missing(database);
}
