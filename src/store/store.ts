import { AsyncLocalStorage } from 'node:async_hooks';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import Database from 'better-sqlite3';
import { z } from 'zod';
import { type Clock, systemClock } from '../base/clock.js';
import { AppError } from '../base/errors.js';
import { programName } from '../base/settings.js';
import { type Note, originOf } from '../ledger/checkpoint.js';
import type { GrowingTree } from '../ledger/tree.js';
import { DataFolder } from './data-folder.js';
import { Db } from './db.js';
import { EvidenceFiles } from './evidence/evidence-files.js';
import type { PrismaClient } from './generated/client.js';
import { InstallationKey } from './installation-key.js';
import {
  type ConsistencyProof,
  type InclusionProof,
  LedgerProofs,
  type SignedHead,
  signedCheckpoint,
} from './ledger-proofs.js';
import { LedgerRows } from './ledger-rows.js';
import { LogArchives } from './log-archives.js';
import { Reads } from './reads.js';
import { Recorder } from './recorder.js';
import { ScanJobs } from './scan-jobs.js';
import { currentForm } from './sent-form.js';
import { openReadingClient, openWritingClient } from './sqlite/database-client.js';
import { copyDatabase } from './sqlite/database-copy.js';
import { auditLedger, type LedgerReport } from './sqlite/ledger-audit.js';
import { migrate } from './sqlite/migrate.js';
import { type RecordedTable, recordedTablesOf } from './sqlite/recorded-tables.js';
import { SQLITE } from './sqlite/statements.js';
import { Writer } from './writer.js';

const BUSY_LIMIT_MS = 30_000;
const TRANSACTION_LIMIT_MS = 10 * 60_000;

/**
 * The only room with a database. All writing goes through `change`; reading has a connection of its own, since a plain
 * call on the writing one would run inside whatever transaction is open there.
 */
export class Store {
  private queue: Promise<unknown> = Promise.resolve();
  /** Set while `work` of a change runs, and in everything that it calls. */
  private readonly inside = new AsyncLocalStorage<true>();
  /** What the last change of this process left, so that the next one need not read it. */
  private left: { readonly tree: GrowingTree; readonly head: string | null } | undefined;
  private origin: string | undefined;
  /** Opened by the first change: a command that only reads waits for no second client. */
  private writing: PrismaClient | undefined;
  private serviceLock: { close(): void } | undefined;
  /** Raw rows of scanned logs, for showing. */
  readonly archives: LogArchives;
  /** Scans of logs that are under way. */
  readonly scanJobs: ScanJobs;

  private constructor(
    readonly folder: DataFolder,
    /** Does nothing but stay open: the last connection to close folds the write-ahead log, which a reading one may not. */
    private readonly database: Database.Database,
    private readonly reading: PrismaClient,
    private readonly tables: readonly RecordedTable[],
    readonly read: Reads,
    readonly evidence: EvidenceFiles,
    readonly key: InstallationKey,
  ) {
    this.archives = new LogArchives(folder.archives, evidence);
    this.scanJobs = new ScanJobs(this);
  }

  /** Signed heads of the audit trail, and proofs that go with them. */
  get proofs(): LedgerProofs {
    return new LedgerProofs(this.read, this.key);
  }

  /** The audit trail as it stands, signed by this installation. */
  signedHead(): Promise<SignedHead> {
    return this.proofs.signedHead();
  }

  /** That entry `seq` (from 1) is among the first `size` entries. */
  inclusionProof(seq: number, size: number): Promise<InclusionProof> {
    return this.proofs.inclusionProof(seq, size);
  }

  /** That the first `fromSize` entries are still the beginning of the first `toSize`. */
  consistencyProof(fromSize: number, toSize: number): Promise<ConsistencyProof> {
    return this.proofs.consistencyProof(fromSize, toSize);
  }

  get clock(): Clock {
    return this.folder.clock;
  }

  /** Opens a data folder, brings its database to this program's schema, and checks the guards. */
  static async open(folder: DataFolder): Promise<Store> {
    const database = new Database(folder.database, { timeout: 10_000 });
    let tables: RecordedTable[];
    try {
      database.pragma('journal_mode = WAL');
      database.pragma('synchronous = FULL');
      migrate(database);
      tables = recordedTablesOf(database);
    } catch (error) {
      database.close();
      throw error;
    }
    const reading = openReadingClient(folder.database);
    const reads = new Reads(new Db(reading, SQLITE));
    const key = InstallationKey.openOrMake(folder.path);
    const store = new Store(folder, database, reading, tables, reads, EvidenceFiles.inFolder(folder.evidence), key);
    try {
      await store.nameKey();
    } catch (error) {
      await store.close();
      throw error;
    }
    return store;
  }

  /**
   * A key that this folder has not used before is named in the ledger, with the one that it takes over from. A fresh
   * folder is made in the same change: its head is signed by the key, and a head whose key nobody named refuses every
   * further change.
   */
  private async nameKey(): Promise<void> {
    const { fingerprint, publicPem } = this.key;
    if ((await this.read.events.installationKeys()).some((known) => known.fingerprint === fingerprint)) return;
    await this.change('program', async (writer) => {
      await writer.recordFolder(programName());
      const known = await writer.read.events.installationKeys();
      if (known.some((key) => key.fingerprint === fingerprint)) return;
      await writer.recordEvent({
        type: 'key-made',
        purpose: 'installation',
        fingerprint,
        publicPem,
        replaces: known.at(-1)?.fingerprint ?? null,
      });
    });
  }

  /** Marks this process as the one service on the folder. The mark goes with the process, however it ends. */
  becomeService(): void {
    this.serviceLock = takeServiceLock(this.folder.path);
  }

  get isService(): boolean {
    return this.serviceLock !== undefined;
  }

  /**
   * The one write door. `work` runs in one transaction with its ledger entries; inside it nothing may be awaited but
   * the writer. Changes of this process queue up; against other processes the door tries again.
   * @param actor who is named in the ledger.
   * @throws AppError BUSY when other processes held the database all the while; then `work` has not run.
   */
  change<T>(actor: string, work: (writer: Writer) => Promise<T>): Promise<T> {
    // The inner change would wait for the outer one to end, and the outer one for the inner.
    if (this.inside.getStore()) {
      return Promise.reject(new AppError('UNEXPECTED', 'a change was begun inside another change'));
    }
    const turn = this.queue.then(() => this.attempt(actor, work));
    this.queue = turn.catch(() => undefined);
    return turn;
  }

  private async attempt<T>(actor: string, work: (writer: Writer) => Promise<T>): Promise<T> {
    const startedMs = performance.now();
    const form = currentForm();
    for (;;) {
      let locked = false;
      try {
        this.writing ??= await openWritingClient(this.folder.database);
        const { answer, tree, head, acted } = await this.writing.$transaction(
          async (tx) => {
            const db = new Db(tx, SQLITE);
            const { size, head } = await Writer.takeLock(db);
            locked = true;
            const tree =
              this.left?.head === head ? this.left.tree.copy() : await new LedgerRows(db).treeLeftBehind(size, head);
            const recorder = new Recorder(db, tree, this.tables, { actor, clock: this.clock, demo: this.folder.demo });
            const writer = new Writer(db, recorder);
            const answer = await this.inside.run(true, () => work(writer));
            const acted = recorder.hasActed;
            if (acted && form?.isUsed === false) await writer.identity.useForm(form, now());
            if (tree.size === size) return { answer, tree, head, acted };
            const signed = await this.signTree(tree, writer);
            await recorder.leaveHead(signed);
            return { answer, tree, head: signed, acted };
          },
          { timeout: TRANSACTION_LIMIT_MS, maxWait: TRANSACTION_LIMIT_MS },
        );
        this.left = { tree, head };
        if (acted && form) form.isUsed = true;
        return answer;
      } catch (error) {
        // Only the lock row can be busy. Once it is ours `work` has begun, and it must not run twice.
        if (locked || !isBusy(error)) throw error;
        if (performance.now() - startedMs > BUSY_LIMIT_MS) {
          throw new AppError('BUSY', 'other programs kept the database busy; nothing was stored, try again');
        }
        await sleep(5 + Math.random() * 45);
      }
    }
  }

  /** The head of a tree as a checkpoint, under the name that the first key gave to this folder. */
  private async signTree(tree: GrowingTree, writer: Writer): Promise<string> {
    const [first] = this.origin === undefined ? await writer.read.events.installationKeys() : [];
    // Before the first key is named, nothing is settled; afterwards the name never changes.
    if (first) this.origin = originOf(first.fingerprint);
    const origin = this.origin ?? originOf(this.key.fingerprint);
    return signedCheckpoint(this.key, { origin, size: tree.size, root: tree.root() }).checkpoint;
  }

  /** As `auditLedger`: the audit trail recomputed, and every stored row held against it. */
  verifyLedger(options: { head?: Note; evidence?: boolean } = {}): Promise<LedgerReport> {
    const evidence = options.evidence ? this.evidence : undefined;
    return auditLedger(this.folder.database, { head: options.head, evidence });
  }

  /** As `copyDatabase`, while changes go on. */
  copyDatabase(target: string): Promise<number> {
    return copyDatabase(this.folder.database, target);
  }

  async close(): Promise<void> {
    await this.queue;
    await this.reading.$disconnect();
    await this.writing?.$disconnect();
    this.database.close();
    this.serviceLock?.close();
  }
}

/**
 * Takes the mark of the one service on a data folder.
 * @returns what to close in order to give the mark back.
 * @throws AppError BUSY when another process or store holds it.
 */
export function takeServiceLock(folder: string): { close(): void } {
  const lock = new Database(path.join(folder, 'service.lock'), { timeout: 0 });
  try {
    lock.exec('BEGIN EXCLUSIVE');
  } catch {
    lock.close();
    throw new AppError('BUSY', `another service runs on ${folder}; stop it, or choose another data folder`);
  }
  return lock;
}

/** Time of the machine, by which sessions end too: that of a demo folder stands still. */
const now = (): string => systemClock.now().toISOString();

const DriverFailure = z.object({
  meta: z.object({ driverAdapterError: z.object({ cause: z.object({ originalCode: z.string() }) }) }),
});

/** Prisma calls a locked database a time-out; the driver's own code is kept beside it. */
function isBusy(error: unknown): boolean {
  const failure = DriverFailure.safeParse(error);
  return failure.success && failure.data.meta.driverAdapterError.cause.originalCode.startsWith('SQLITE_BUSY');
}
