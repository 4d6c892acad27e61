import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { PrismaBetterSqlite3 } from '@prisma/adapter-better-sqlite3';
import Database from 'better-sqlite3';
import type { Clock } from '../clock.js';
import { AppError } from '../errors.js';
import { PROGRAM } from '../settings.js';
import { DataFolder } from './data-folder.js';
import { EvidenceFiles } from './evidence-files.js';
import { PrismaClient } from './generated/client.js';
import { migrate } from './migrate.js';
import { Reads } from './reads.js';
import { Writer } from './writer.js';

const BUSY_ATTEMPTS = 40;
const TRANSACTION_LIMIT_MS = 10 * 60_000;

/**
 * The only room with a database. All writing goes through `change`; reading has a connection of its own, since a plain
 * call on the writing one would run inside whatever transaction is open there.
 */
export class Store {
  private queue: Promise<unknown> = Promise.resolve();
  private serviceLock: Database.Database | undefined;

  private constructor(
    readonly folder: DataFolder,
    private readonly writing: PrismaClient,
    private readonly reading: PrismaClient,
    readonly read: Reads,
    readonly evidence: EvidenceFiles,
  ) {}

  get clock(): Clock {
    return this.folder.clock;
  }

  /** Opens a data folder, brings its database to this program's schema, and checks the guards. */
  static async open(folder: DataFolder): Promise<Store> {
    const database = new Database(folder.database, { timeout: 10_000 });
    try {
      database.pragma('journal_mode = WAL');
      database.pragma('synchronous = FULL');
      migrate(database);
    } finally {
      database.close();
    }
    const writing = client(folder.database, false);
    // WAL reopens with synchronous = NORMAL, which may lose the last commits at a power cut.
    await writing.$queryRawUnsafe('PRAGMA synchronous = FULL');
    await writing.$queryRawUnsafe('PRAGMA foreign_keys = ON');
    const reading = client(folder.database, true);
    const store = new Store(folder, writing, reading, new Reads(reading), new EvidenceFiles(folder.evidence));
    if ((await store.read.ledgerSize()) === 0) {
      await store.change('program', (writer) => writer.recordFolder(PROGRAM));
    }
    return store;
  }

  /** Marks this process as the one service on the folder. The mark goes with the process, however it ends. */
  becomeService(): void {
    const lock = new Database(path.join(this.folder.path, 'service.lock'), { timeout: 0 });
    try {
      lock.exec('BEGIN EXCLUSIVE');
    } catch {
      lock.close();
      throw new AppError('BUSY', `another service runs on ${this.folder.path}; stop it, or choose another data folder`);
    }
    this.serviceLock = lock;
  }

  /**
   * The one write door. `work` runs in one transaction with its ledger entries; inside it nothing may be awaited but
   * the writer. Changes of this process queue up; against other processes the door tries again.
   * @throws AppError BUSY when other processes held the database all the while.
   */
  change<T>(actor: string, work: (writer: Writer) => Promise<T>): Promise<T> {
    const turn = this.queue.then(() => this.attempt(actor, work));
    this.queue = turn.catch(() => undefined);
    return turn;
  }

  private async attempt<T>(actor: string, work: (writer: Writer) => Promise<T>): Promise<T> {
    for (let attempt = 1; ; attempt++) {
      try {
        return await this.writing.$transaction(
          async (tx) => {
            // First of all, so that a second writer waits here and not after it has read.
            const size = await Writer.takeLock(tx);
            return work(new Writer(tx, size, actor, this.clock, this.folder.demo));
          },
          { timeout: TRANSACTION_LIMIT_MS, maxWait: TRANSACTION_LIMIT_MS },
        );
      } catch (error) {
        if (!isBusy(error)) throw error;
        if (attempt === BUSY_ATTEMPTS) {
          throw new AppError('BUSY', 'other programs kept the database busy; nothing was stored, try again');
        }
        await sleep(10 + Math.random() * 25 * Math.min(attempt, 10));
      }
    }
  }

  async close(): Promise<void> {
    await this.queue;
    await Promise.all([this.writing.$disconnect(), this.reading.$disconnect()]);
    this.serviceLock?.close();
  }
}

/** A short wait inside the driver: it blocks the event loop, so the door does the waiting. */
const client = (file: string, readonly: boolean): PrismaClient =>
  new PrismaClient({ adapter: new PrismaBetterSqlite3({ url: `file:${file}`, readonly, timeout: 50 }) });

const isBusy = (error: unknown): boolean =>
  error instanceof Error && /SQLITE_BUSY|database is locked|P1008|SocketTimeout/i.test(`${error.message}`);
