import { AsyncLocalStorage } from 'node:async_hooks';
import { setTimeout as sleep } from 'node:timers/promises';
import { type Clock, systemClock } from '../base/clock.js';
import { AppError } from '../base/errors.js';
import { programName } from '../base/settings.js';
import { canonicalJson } from '../dossier/canonical.js';
import type { Anchor } from '../ledger/anchor.js';
import { type Note, originOf, parseHead } from '../ledger/checkpoint.js';
import type { Event } from '../ledger/event.js';
import type { AfterLoss } from '../ledger/key-chain.js';
import type { GrowingTree } from '../ledger/tree.js';
import type { ArchivedLog } from '../process-logs/archive/archive-reader.js';
import { AnchorFile } from './anchor-file.js';
import { AnchorUrl } from './anchor-url.js';
import { ENGINE } from './chosen-engine.js';
import { DataFolder } from './data-folder.js';
import type { Db } from './db.js';
import type { Engine } from './engine.js';
import { EventGuard, type TrustedTree } from './event-guard.js';
import type { EvidenceFiles } from './evidence/evidence-files.js';
import { evidenceOf } from './evidence/evidence-place.js';
import { FolderSecret } from './folder-secret.js';
import { InstallationKey } from './installation-key.js';
import { Instances } from './instances.js';
import { KeptFiles } from './kept-files.js';
import { passphraseGiven } from './key-passphrase.js';
import { currentLease, Leases, refuseLost } from './leases.js';
import { LedgerProofs, signedCheckpoint } from './ledger-proofs.js';
import type { LedgerReport } from './ledger-report.js';
import { LedgerRows } from './ledger-rows.js';
import { LogArchives } from './log-archives.js';
import { ReadLog } from './read-log.js';
import { Recorder } from './recorder.js';
import { type Change, changing, type Reads, readingFrom } from './repositories.js';
import { ScanJobs } from './scan-jobs.js';
import { keepElsewhere, readIfReached, readWithinADay, type SecondAnchor, secondAnchorOf } from './second-anchor.js';
import { currentForm } from './sent-form.js';
import { Spools } from './spools.js';
import { WholeTrail } from './whole-trail.js';
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
  private isClosed = false;
  private serves = false;
  /** Not while the anchor is made anew. */
  private isAnchored = true;
  /** The anchor in a second place, where somebody named one: for heads as they are kept now and then. */
  private second: SecondAnchor | undefined;
  /** Raw rows of scanned logs, for showing. */
  readonly archives: LogArchives;
  /** What this store does at the moment, and nobody else. */
  readonly leases: Leases;
  /** Services on the same database. */
  readonly instances: Instances;
  /** Scans of logs that are under way. */
  readonly scanJobs: ScanJobs;
  /** Files that came in and are not checked yet. */
  readonly spools: Spools;
  /** Who read what. */
  readonly reads: ReadLog;
  /** Codes for what changes in place. */
  readonly secret: FolderSecret;
  /** Signed heads of the audit trail, and proofs that go with them. */
  readonly proofs: LedgerProofs;

  private constructor(
    readonly folder: DataFolder,
    private readonly engine: Engine,
    readonly read: Reads,
    readonly evidence: EvidenceFiles,
    readonly key: InstallationKey,
    readonly anchor: AnchorFile,
    private readonly guard: EventGuard,
    /** Whether all is there of what decisions rest on. */
    readonly whole: WholeTrail,
  ) {
    this.archives = new LogArchives(folder.archives, evidence);
    this.leases = new Leases(this);
    this.instances = new Instances(folder, this);
    this.scanJobs = new ScanJobs(this);
    this.spools = new Spools(folder.spools);
    this.secret = new FolderSecret(folder.path);
    this.reads = ReadLog.of(folder, this.secret);
    this.proofs = new LedgerProofs(read, key);
  }

  get clock(): Clock {
    return this.folder.clock;
  }

  /**
   * Opens a data folder with everything that is kept in it, and compares it with its anchor.
   * @param options.anchored false for the acts that make the anchor anew.
   * @throws AppError ALTERED when the database does not follow from the anchor, CONFLICT when the key is another one.
   */
  static async open(
    folder: DataFolder,
    opened?: Engine,
    { anchored = true }: { readonly anchored?: boolean } = {},
  ): Promise<Store> {
    const engine = opened ?? (await ENGINE.open(folder));
    let store: Store | undefined;
    try {
      const anchor = AnchorFile.beside(folder.path);
      const trusted = async () => treeOf(read, [anchored ? anchor.read() : null]);
      const guard = new EventGuard(trusted);
      const read: Reads = readingFrom(engine.reading, guard);
      const isFresh = (await read.ledger.size()) === 0 && !anchor.exists;
      // Before the key: a database that names another one says so by its own fault.
      const second = secondAnchorOf(folder);
      if (!isFresh && anchored) await compareOutside(read, anchor, second, readIfReached);
      else if (!isFresh) await treeOf(read, [null]);
      const key = await openKey(folder.path, read, anchor);
      const evidence = evidenceOf(folder, isFresh);
      store = new Store(folder, engine, read, evidence, key, anchor, guard, new WholeTrail(read, trusted));
      store.isAnchored = anchored;
      store.second = second;
      await store.nameKey();
      await store.nameRestore();
      return store;
    } catch (error) {
      await (store ?? engine).close();
      throw error;
    }
  }

  /**
   * Compares what is recorded with what is kept outside, before something leaves the house: the keys follow from the first
   * one, and the ledger has grown from the head that the anchor holds.
   * @throws AppError ALTERED when that is not so, or the anchor is gone; STORAGE when the second place was not reached for
   * a day.
   */
  async compare(): Promise<void> {
    if (this.isAnchored) await compareOutside(this.read, this.anchor, this.second, readWithinADay);
    else await treeOf(this.read, [null]);
    await this.keepElsewhere();
  }

  /**
   * Holds what is recorded against the second place, if there is one.
   * @throws AppError STORAGE when it cannot be reached, ALTERED when what is recorded does not follow from it.
   */
  async compareElsewhere(): Promise<void> {
    if (this.second) await follows(this.read, await this.second.read(), this.second);
  }

  /** Names a key that stands for a lost one in the second place, before the change that names it. */
  async tellElsewhere(loss: AfterLoss): Promise<void> {
    const { second } = this;
    if (second === undefined || (second instanceof AnchorFile && !second.exists && !this.anchor.exists)) return;
    await this.compareElsewhere();
    await second.addAfterLoss(loss);
  }

  /** The second place of the anchor where it is an address, which keeps what it holds. */
  get addressElsewhere(): string | undefined {
    return this.second instanceof AnchorUrl ? this.second.url : undefined;
  }

  /** After two people accepted another audit trail: a file is made anew, an address is left. */
  renewElsewhere(): void {
    const { second } = this;
    if (second instanceof AnchorFile) second.replace(this.anchor.read());
    if (!(second instanceof AnchorUrl)) return;
    this.folder.with({ anchor: undefined });
    second.forget();
    this.second = undefined;
  }

  /**
   * Names the first key of a fresh folder in the ledger. A fresh folder is made in the same change: its head is signed by
   * the key, and a head whose key nobody named refuses every further change.
   */
  private async nameKey(): Promise<void> {
    if ((await this.read.ledger.size()) > 0) return;
    await this.change('program', async (change) => {
      if (change.ledger.sizeNow() > 0) return;
      await change.ledger.begin(programName());
      const { fingerprint, publicPem } = this.key;
      await change.events.add({ type: 'key-made', purpose: 'installation', fingerprint, publicPem, replaces: null });
    });
  }

  /** A backup that was restored without the key is named in the ledger once the key is there. */
  async nameRestore(): Promise<void> {
    const told = this.isAnchored ? this.anchor.read().restored : null;
    if (told === null || !this.key.isHeld) return;
    const { actor, ...event } = JSON.parse(told) as Restored;
    await this.change(actor, async (change) => {
      const named = await change.events.ofTypes(['folder-restored']);
      const text = canonicalJson({ type: 'folder-restored', ...event });
      if (named.some((other) => canonicalJson(other.event) === text)) return;
      await change.events.add({ type: 'folder-restored', ...event });
    });
    this.anchor.replace({ ...this.anchor.read(), restored: null });
  }

  /**
   * Makes the anchor anew from the ledger as it is: after a restore, and when two people accept it.
   * @param restored what the ledger is to be told of a restore, once the key is there.
   */
  async anchorAnew(restored: Restored | null): Promise<void> {
    const keys = await this.read.events.installationKeys();
    const { head } = await this.read.ledger.lastHead();
    const anchor = {
      firstKey: keys[0]!.fingerprint,
      afterLoss: keys
        .filter(({ persons }) => persons)
        .map(({ replaces, fingerprint }) => ({ replaces: replaces!, fingerprint })),
      head: parseHead(head!),
      restored: restored && canonicalJson(restored),
    };
    this.anchor.replace(anchor);
    // One that is there gets behind no newer head by a restore: two people must say so.
    if (restored === null && this.second instanceof AnchorFile && !this.second.exists) this.second.replace(anchor);
    this.isAnchored = true;
  }

  /** Whether this process changed something, and can still. */
  get hasChanged(): boolean {
    return this.left !== undefined && !this.isClosed;
  }

  /**
   * Marks this process as a service: the one on its folder, or on a server one of several that share the folder too. The mark
   * goes with the process, however it ends.
   * @throws AppError BUSY when another stands in the way, CONFLICT when a service of another folder uses the database.
   */
  async becomeService(): Promise<void> {
    this.engine.becomeService();
    if (this.engine.isShared) await this.instances.enter();
    this.serves = true;
  }

  /**
   * Marks this process as the only one that may change what services rely on, such as the key.
   * @throws AppError BUSY while a service runs.
   */
  async standAlone(): Promise<void> {
    this.engine.standAlone();
    if (this.engine.isShared) await this.instances.enterAlone();
  }

  get isService(): boolean {
    return this.serves;
  }

  /** Whether other services may use the database at the same time. */
  get isShared(): boolean {
    return this.engine.isShared;
  }

  /**
   * The one write door. `work` runs in one transaction with its ledger entries; inside it nothing may be awaited but
   * the change. Changes of this process queue up; against other processes the door tries again.
   * @param actor who is named in the ledger.
   * @param signer who signs the head instead of the key in use, when another follows it.
   * @throws AppError BUSY when other processes held the database all the while; then `work` has not run. ALTERED when the
   * ledger does not follow from the anchor, CONFLICT when the key is lost or locked, or the lease under which it is done.
   */
  change<T>(actor: string, work: (change: Change) => Promise<T>, signer = this.key): Promise<T> {
    // The inner change would wait for the outer one to end, and the outer one for the inner.
    if (this.inside.getStore()) {
      return Promise.reject(new AppError('UNEXPECTED', 'a change was begun inside another change'));
    }
    const turn = this.queue.then(() => this.attempt(actor, work, signer));
    this.queue = turn.catch(() => undefined);
    return turn;
  }

  private async attempt<T>(actor: string, work: (change: Change) => Promise<T>, signer: InstallationKey): Promise<T> {
    const startedMs = performance.now();
    const form = currentForm();
    const lease = currentLease();
    for (;;) {
      let locked = false;
      try {
        const { answer, tree, head, grown, acted } = await this.engine.transaction(async (db) => {
          const { size, head } = await takeWriteLock(db);
          locked = true;
          const tree = await this.treeToGrow(db, size, head);
          const author = { actor, clock: this.clock, demo: this.folder.demo };
          const recorder = new Recorder(db, tree, this.engine.tables, author);
          const change = changing(db.recordingBy(recorder), this.guard);
          if (lease) await refuseLost(change, lease);
          const answer = await this.inside.run(true, () => work(change));
          const acted = recorder.hasActed;
          if (acted && form?.isUsed === false) await change.identity.useForm(form, now());
          if (tree.size === size) return { answer, tree, head, grown: false, acted };
          const signed = await this.signTree(tree, change, signer);
          await recorder.leaveHead(signed);
          return { answer, tree, head: signed, grown: true, acted };
        });
        this.left = { tree, head };
        if (grown && this.isAnchored) this.keepOutside(head!);
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

  private async treeToGrow(db: Db, size: number, head: string | null): Promise<GrowingTree> {
    if (!this.isAnchored) return (await new LedgerRows(db).treeLeftBehind(size, head, null)).tree;
    if (this.anchor.isAsLeft && this.left?.head === head) return this.left.tree.copy();
    const { tree, key } = await new LedgerRows(db).treeLeftBehind(size, head, this.anchor.read());
    if (key === undefined || key.fingerprint === this.key.fingerprint) return tree;
    throw new AppError('CONFLICT', 'the key was replaced meanwhile: nothing was stored, start the program again');
  }

  /** The change is stored already: a head that could not be appended is named by the next comparison, or by the next head. */
  private keepOutside(head: string): void {
    try {
      this.anchor.append(head);
    } catch {}
  }

  /** The head of a tree as a checkpoint, under the name that the first key gave to this folder. */
  private async signTree(tree: GrowingTree, change: Change, key: InstallationKey): Promise<string> {
    const [first] = this.origin === undefined ? await change.events.installationKeys() : [];
    // Before the first key is named, nothing is settled; afterwards the name never changes.
    if (first) this.origin = originOf(first.fingerprint);
    const origin = this.origin ?? originOf(key.fingerprint);
    return signedCheckpoint(key, { origin, size: tree.size, root: tree.root() }).checkpoint;
  }

  /** As `ENGINE.audit`: the audit trail recomputed, and every stored row held against it. */
  verifyLedger(options: { head?: Note; files?: boolean } = {}): Promise<LedgerReport> {
    const files = options.files ? new KeptFiles(this.folder, this.evidence) : undefined;
    return this.engine.audit({ head: options.head, files, anchor: this.anchor });
  }

  /** Where the raw rows of a log can be read, when there is an archive of it that the audit trail names. */
  async archivedLog(sha256: string): Promise<ArchivedLog> {
    return this.archives.placeOf(sha256, await this.read.logs.archiveOf(sha256));
  }

  /** As `Engine.copy`. */
  copyDatabase(target: string): Promise<number> {
    return this.engine.copy(target);
  }

  /** Leaves the head that is there in the second place. */
  private async keepElsewhere(): Promise<void> {
    if (this.isAnchored && this.second && this.left?.head) await keepElsewhere(this.second, this.left.head);
  }

  async close(): Promise<void> {
    await this.leases.close();
    this.instances.leave();
    this.isClosed = true;
    await this.queue;
    await this.keepElsewhere();
    // Every promise of the process looks at every storage that is still on.
    this.inside.disable();
    await this.engine.close();
  }
}

/** Time of the machine, by which sessions end too: that of a demo folder stands still. */
const now = (): string => systemClock.now().toISOString();

/** What the ledger is told of a restore. */
export type Restored = Omit<Extract<Event, { type: 'folder-restored' }>, 'type'> & { readonly actor: string };

/** @throws AppError ALTERED with what to do, when what is recorded does not follow from one of both places. */
async function compareOutside(
  read: Reads,
  anchor: AnchorFile,
  second: SecondAnchor | undefined,
  readSecond: typeof readIfReached,
): Promise<void> {
  // First: others may change and append meanwhile.
  const elsewhere = second && (await readSecond(second));
  await treeOf(read, [anchor.read()]);
  if (elsewhere) await follows(read, elsewhere, second!);
}

async function follows(read: Reads, anchor: Anchor, second: SecondAnchor): Promise<void> {
  try {
    await treeOf(read, [anchor]);
  } catch (error) {
    if (!(error instanceof AppError) || error.code !== 'ALTERED') throw error;
    const place = second instanceof AnchorUrl ? second.url : second.file;
    throw new AppError(
      'ALTERED',
      `as ${place} has it: ${error.message}. If it was on purpose, let two people accept it: keys anchor --renew`,
    );
  }
}

/**
 * @param anchors read before what is recorded; null while the anchor is made anew: then the keys and the head are held
 *   against each other alone.
 * @returns what the last change left.
 */
async function treeOf(read: Reads, anchors: readonly (Anchor | null)[]): Promise<TrustedTree> {
  const { size, head } = await read.ledger.lastHead();
  let root = '';
  for (const anchor of anchors) root = (await read.ledger.treeLeftBehind(size, head, anchor)).tree.root();
  return { size, root };
}

/** The key of a folder, made where nothing is recorded yet, and before anything is: then the anchor has it too. */
async function openKey(folder: string, read: Reads, anchor: AnchorFile): Promise<InstallationKey> {
  const last = (await read.events.installationKeys()).at(-1);
  if (last) return InstallationKey.openKnown(folder, last, passphraseGiven());
  const key = InstallationKey.openOrMake(folder, passphraseGiven());
  if ((await read.ledger.size()) === 0) anchor.makeOnce(key.fingerprint);
  return key;
}
