import { AsyncLocalStorage } from 'node:async_hooks';
import { setTimeout as sleep } from 'node:timers/promises';
import { type Clock, systemClock } from '../base/clock.js';
import { AppError } from '../base/errors.js';
import { programName } from '../base/settings.js';
import { type Note, originOf } from '../ledger/checkpoint.js';
import type { GrowingTree } from '../ledger/tree.js';
import { ENGINE } from './chosen-engine.js';
import { DataFolder } from './data-folder.js';
import { Db } from './db.js';
import type { Engine } from './engine.js';
import { EvidenceFiles } from './evidence/evidence-files.js';
import { InstallationKey } from './installation-key.js';
import { LedgerProofs, signedCheckpoint } from './ledger-proofs.js';
import type { LedgerReport } from './ledger-report.js';
import { LedgerRows } from './ledger-rows.js';
import { LogArchives } from './log-archives.js';
import { Recorder } from './recorder.js';
import { type Change, changing, type Reads, readingFrom } from './repositories.js';
import { ScanJobs } from './scan-jobs.js';
import { currentForm } from './sent-form.js';
import { Spools } from './spools.js';
import { takeWriteLock } from './write-lock.js';

const BUSY_LIMIT_MS = 30_000;

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
  /** Raw rows of scanned logs, for showing. */
  readonly archives: LogArchives;
  /** Scans of logs that are under way. */
  readonly scanJobs: ScanJobs;
  /** Files that came in and are not checked yet. */
  readonly spools: Spools;
  /** Signed heads of the audit trail, and proofs that go with them. */
  readonly proofs: LedgerProofs;

  private constructor(
    readonly folder: DataFolder,
    private readonly engine: Engine,
    readonly read: Reads,
    readonly evidence: EvidenceFiles,
    readonly key: InstallationKey,
  ) {
    this.archives = new LogArchives(folder.archives, evidence);
    this.scanJobs = new ScanJobs(this);
    this.spools = new Spools(folder.spools);
    this.proofs = new LedgerProofs(read, key);
  }

  get clock(): Clock {
    return this.folder.clock;
  }

  /** Opens a data folder with everything that is kept in it. */
  static async open(folder: DataFolder, engine: Engine = ENGINE.open(folder)): Promise<Store> {
    const key = InstallationKey.openOrMake(folder.path);
    const evidence = EvidenceFiles.inFolder(folder.evidence);
    const store = new Store(folder, engine, readingFrom(engine.reading), evidence, key);
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
    await this.change('program', async (change) => {
      await change.ledger.begin(programName());
      const known = await change.events.installationKeys();
      if (known.some((key) => key.fingerprint === fingerprint)) return;
      await change.events.add({
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
    this.engine.becomeService();
  }

  get isService(): boolean {
    return this.engine.isService;
  }

  /**
   * The one write door. `work` runs in one transaction with its ledger entries; inside it nothing may be awaited but
   * the change. Changes of this process queue up; against other processes the door tries again.
   * @param actor who is named in the ledger.
   * @throws AppError BUSY when other processes held the database all the while; then `work` has not run.
   */
  change<T>(actor: string, work: (change: Change) => Promise<T>): Promise<T> {
    // The inner change would wait for the outer one to end, and the outer one for the inner.
    if (this.inside.getStore()) {
      return Promise.reject(new AppError('UNEXPECTED', 'a change was begun inside another change'));
    }
    const turn = this.queue.then(() => this.attempt(actor, work));
    this.queue = turn.catch(() => undefined);
    return turn;
  }

  private async attempt<T>(actor: string, work: (change: Change) => Promise<T>): Promise<T> {
    const startedMs = performance.now();
    const form = currentForm();
    for (;;) {
      let locked = false;
      try {
        const { answer, tree, head, acted } = await this.engine.transaction(async (db) => {
          const { size, head } = await takeWriteLock(db);
          locked = true;
          const tree =
            this.left?.head === head ? this.left.tree.copy() : await new LedgerRows(db).treeLeftBehind(size, head);
          const author = { actor, clock: this.clock, demo: this.folder.demo };
          const recorder = new Recorder(db, tree, this.engine.tables, author);
          const change = changing(new Db(db.client, db.sql, recorder));
          const answer = await this.inside.run(true, () => work(change));
          const acted = recorder.hasActed;
          if (acted && form?.isUsed === false) await change.identity.useForm(form, now());
          if (tree.size === size) return { answer, tree, head, acted };
          const signed = await this.signTree(tree, change);
          await recorder.leaveHead(signed);
          return { answer, tree, head: signed, acted };
        });
        this.left = { tree, head };
        if (acted && form) form.isUsed = true;
        return answer;
      } catch (error) {
        // Only the lock row can be busy. Once it is ours `work` has begun, and it must not run twice.
        if (locked || !this.engine.isBusy(error)) throw error;
        if (performance.now() - startedMs > BUSY_LIMIT_MS) {
          throw new AppError('BUSY', 'other programs kept the database busy; nothing was stored, try again');
        }
        await sleep(5 + Math.random() * 45);
      }
    }
  }

  /** The head of a tree as a checkpoint, under the name that the first key gave to this folder. */
  private async signTree(tree: GrowingTree, change: Change): Promise<string> {
    const [first] = this.origin === undefined ? await change.events.installationKeys() : [];
    // Before the first key is named, nothing is settled; afterwards the name never changes.
    if (first) this.origin = originOf(first.fingerprint);
    const origin = this.origin ?? originOf(this.key.fingerprint);
    return signedCheckpoint(this.key, { origin, size: tree.size, root: tree.root() }).checkpoint;
  }

  /** As `ENGINE.audit`: the audit trail recomputed, and every stored row held against it. */
  verifyLedger(options: { head?: Note; evidence?: boolean } = {}): Promise<LedgerReport> {
    const evidence = options.evidence ? this.evidence : undefined;
    return this.engine.audit({ head: options.head, evidence });
  }

  /** As `Engine.copy`. */
  copyDatabase(target: string): Promise<number> {
    return this.engine.copy(target);
  }

  async close(): Promise<void> {
    await this.queue;
    // Every promise of the process looks at every storage that is still on.
    this.inside.disable();
    await this.engine.close();
  }
}

/** Time of the machine, by which sessions end too: that of a demo folder stands still. */
const now = (): string => systemClock.now().toISOString();
