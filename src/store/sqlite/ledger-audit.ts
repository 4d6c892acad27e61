import fs from 'node:fs';
import path from 'node:path';
import { setImmediate as pause } from 'node:timers/promises';
import Database from 'better-sqlite3';
import { AppError } from '../../base/errors.js';
import type { Anchor } from '../../ledger/anchor.js';
import { faultOfLastHead, type Note, noteKeysOf, type ReadHead, readHead } from '../../ledger/checkpoint.js';
import { subjectOfEntry } from '../../ledger/entry.js';
import type { ChainedKey } from '../../ledger/key-chain.js';
import type { StoredFault } from '../../ledger/stored-fault.js';
import type { Subject } from '../../ledger/subject.js';
import { TimesInOrder } from '../../ledger/times-in-order.js';
import type { TreeNode } from '../../ledger/tree.js';
import { LedgerCheck, type LedgerVerdict, type StoredEntry } from '../../ledger/verify-ledger.js';
import { AnchorFile } from '../anchor-file.js';
import type { AuditOptions } from '../engine.js';
import { keptHead } from '../kept-head.js';
import type { CheckedLedger, LedgerFault, LedgerReport } from '../ledger-report.js';
import { type AddFault, FileAudit } from './file-audit.js';
import { checkFile, checkSchema, isDamage } from './file-check.js';
import { auditHistories } from './history-audit.js';
import { auditKeys } from './key-audit.js';
import { RowAudit } from './row-audit.js';
import { LAST_HEAD, LEDGER_ENTRIES, LEDGER_NODES } from './row-check.js';

const FAULTS_LISTED = 100;
/** Between two stretches of this length others get their turn. */
const STRETCH = 500;

/**
 * Holds the whole database against its ledger: asks SQLite whether the file is whole, recomputes the tree from the
 * entries, compares every stored row with the digest that was recorded, and names what differs. Each row is read by
 * itself, so that a damaged one is named and does not hide the others. It sees one moment of the database, whatever goes
 * on meanwhile, and its memory does not grow with it.
 * @param file the database. It is only read, and need not be of an open store.
 * @throws AppError ALTERED when a known key did not sign the kept head, or the file is missing or damaged beyond reading.
 */
export async function auditLedger(file: string, options: AuditOptions = {}): Promise<LedgerReport> {
  if (!fs.existsSync(file)) throw missing(file);
  const db = new Database(file, { readonly: true, timeout: 10_000 });
  try {
    db.exec('BEGIN');
    const audit = new Audit(db, options);
    try {
      return await audit.run();
    } finally {
      audit.close();
    }
  } catch (error) {
    if (!isDamage(error)) throw error;
    const { message } = error as Error;
    throw new AppError('ALTERED', `the database is damaged and cannot be read: ${message}; restore a backup`);
  } finally {
    closeWhatever(db);
  }
}

/** A database that is not where it was: renamed, or removed. */
export function missing(file: string): AppError {
  const isKnown = AnchorFile.beside(path.dirname(file)).exists;
  return new AppError(
    'ALTERED',
    `${file} is missing${isKnown ? ', and the anchor says that it was there' : ''}: put it back with what lies beside it, or restore a backup into an empty folder`,
  );
}

/** A walk that ended in a damaged page keeps the connection busy, and closing would hide what was wrong. */
function closeWhatever(db: Database.Database): void {
  try {
    db.close();
  } catch {}
}

class Audit {
  private readonly check: LedgerCheck;
  private readonly faults: LedgerFault[] = [];
  private faultCount = 0;
  private readonly files: FileAudit | undefined;
  private readonly rows: RowAudit;
  private readonly times: TimesInOrder;
  private nodes: IterableIterator<TreeNode>;
  private readonly keys: readonly ChainedKey[];
  private readonly head: ReadHead | undefined;
  private readonly anchored: ReadHead | undefined;

  constructor(
    private readonly db: Database.Database,
    options: AuditOptions,
  ) {
    const add: AddFault = (subject, seq, fault) => this.add(subject, seq, fault);
    // Before the first look at the database, which may grow meanwhile.
    const anchor = options.anchor && this.readAnchor(options.anchor);
    checkFile(db, (subject, fault) => add(subject, null, fault));
    const { keys, known, stamps } = auditKeys(db, anchor, add);
    this.keys = keys;
    this.anchored = anchor?.head ? this.anchoredHead(anchor.head) : undefined;
    this.head = options.head && readHead(options.head, noteKeysOf(this.keys));
    this.check = new LedgerCheck([this.head, this.anchored].flatMap((head) => head?.size ?? []));
    this.times = new TimesInOrder(stamps);
    this.rows = new RowAudit(db, { keys: known, times: this.times }, add);
    if (options.files) {
      this.files = new FileAudit(db, options.files, add, (kind, key, step) => this.guarded(kind, key, step));
    }
    this.nodes = db.prepare(LEDGER_NODES).iterate() as IterableIterator<TreeNode>;
  }

  private readAnchor(file: NonNullable<AuditOptions['anchor']>): Anchor | undefined {
    try {
      return file.read();
    } catch (error) {
      this.add(ANCHOR, null, { code: 'anchor not read', facts: { message: (error as Error).message } });
      return undefined;
    }
  }

  private anchoredHead(note: Note): ReadHead | undefined {
    try {
      const head = readHead(note, noteKeysOf(this.keys));
      if (head.signedBy !== null) return head;
      this.add(ANCHOR, null, { code: 'anchor signed by no key' });
    } catch (error) {
      this.add(ANCHOR, null, { code: 'anchor not read', facts: { message: (error as Error).message } });
    }
    return undefined;
  }

  /** Whether the ledger that is here has grown from the head that is kept outside. */
  private checkAnchored(size: number): void {
    if (!this.anchored) return;
    const origin = noteKeysOf(this.keys)[0]?.name;
    const { grownOnly, found } = keptHead(this.anchored, origin, size, this.check.watchedRoot(this.anchored.size));
    if (!grownOnly) this.add(ANCHOR, null, { code: 'anchored head', facts: { found } });
  }

  /** Ends the walks that were not finished: a database with open ones cannot be closed. */
  close(): void {
    this.nodes.return?.();
    this.rows.close();
  }

  async run(): Promise<LedgerReport> {
    let size = 0;
    let walked = false;
    await this.guarded(
      'audit trail',
      () => `entries from ${size + 1} on`,
      async () => {
        for (const stored of this.db.prepare(LEDGER_ENTRIES).iterate() as IterableIterator<StoredEntry>) {
          size += 1;
          const { entry, nodes: completed } = this.check.add(stored);
          this.checkNodes(completed, stored.seq);
          const untimely = entry && this.times.next(entry);
          if (untimely) this.add(subjectOfEntry(entry), stored.seq, { code: 'time does not hold', facts: untimely });
          this.rows.check(stored.seq, entry);
          if (size % STRETCH === 0) await pause();
        }
        walked = true;
      },
    );
    // Without their entries, rows cannot be told from strays.
    if (walked) this.rows.check(Number.POSITIVE_INFINITY, undefined);
    await this.guarded(
      'family history',
      () => 'all',
      () => auditHistories(this.db, (subject, seq, fault) => this.add(subject, seq, fault)),
    );
    await this.files?.run();
    await this.guarded(
      'database',
      () => 'tables and indexes',
      () => checkSchema(this.db, (subject, fault) => this.add(subject, null, fault)),
    );
    return this.report(size);
  }

  /** What a damaged page or text makes impossible is named, and the check goes on with what comes next. */
  private async guarded(kind: string, key: () => string, step: () => Promise<void> | void): Promise<void> {
    try {
      await step();
    } catch (error) {
      this.add({ kind, key: key(), revision: null }, null, unreadableBy(error));
    }
  }

  private report(size: number): LedgerReport {
    this.checkAnchored(size);
    const verdict = this.check.verdict();
    const root = verdict.ok ? verdict.root : null;
    const broken = this.chainFault(verdict);
    const faults = broken ? [broken, ...this.faults] : this.faults;
    const origin = noteKeysOf(this.keys)[0]?.name;
    const head = this.head ? keptHead(this.head, origin, size, this.check.watchedRoot(this.head.size)) : null;
    const first = faults[0] ?? (head?.grownOnly === false ? { seq: null, fault: head.found } : undefined);
    const checked: CheckedLedger = {
      size,
      root,
      rows: this.rows.count,
      files: this.files?.count ?? null,
      faultCount: this.faultCount + (broken ? 1 : 0),
      faults: faults.slice(0, FAULTS_LISTED),
      head,
      ...(this.check.laterTypes.length > 0 ? { laterTypes: this.check.laterTypes } : {}),
    };
    return first ? { ok: false, seq: first.seq ?? size, reason: first.fault, ...checked } : { ok: true, ...checked };
  }

  /** The first entry that is wrong; or nodes or the signed head, when every entry is as it was hashed. */
  private chainFault(verdict: LedgerVerdict): LedgerFault | undefined {
    if (!verdict.ok) {
      return {
        kind: 'audit trail',
        key: `entry ${verdict.seq}`,
        revision: null,
        seq: verdict.seq,
        fault: verdict.reason,
      };
    }
    const stray = this.nextNode();
    if (stray) this.add(nodeSubject(stray), null, { code: 'node of no entries' });
    const { size, head, keptTo } = (this.db.prepare(LAST_HEAD).get() as LastHead | undefined) ?? NO_HEAD;
    if (keptTo > size) {
      this.add({ kind: 'audit trail', key: 'kept-views', revision: null }, null, { code: 'kept beyond the end' });
    }
    const fault = size === verdict.size ? this.lastHeadFault(head, verdict) : sizeFault(verdict.size, size);
    const seq = Math.min(size, verdict.size) + (size === verdict.size ? 0 : 1);
    return fault && { kind: 'audit trail', key: 'signed head', revision: null, seq, fault };
  }

  private lastHeadFault(head: string | null, { size, root }: Tree): StoredFault | undefined {
    const facts = faultOfLastHead(head, noteKeysOf(this.keys), size, root);
    return facts && { code: 'last head', facts };
  }

  private add(subject: Subject, seq: number | null, fault: StoredFault): void {
    this.faultCount += 1;
    if (this.faults.length < FAULTS_LISTED) this.faults.push({ ...subject, seq, fault });
  }

  private checkNodes(completed: readonly TreeNode[], seq: number): void {
    for (const node of completed) {
      const found = this.nextNode();
      const same = found?.level === node.level && found.index === node.index && found.hash === node.hash;
      if (!same) this.add(nodeSubject(node), seq, { code: 'another hash of a node' });
    }
  }

  private nextNode(): TreeNode | undefined {
    try {
      return this.nodes.next().value as TreeNode | undefined;
    } catch (error) {
      this.nodes = [][Symbol.iterator]();
      this.add({ kind: 'audit trail', key: 'nodes', revision: null }, null, unreadableBy(error));
      return undefined;
    }
  }
}

const ANCHOR: Subject = { kind: 'key', key: 'anchor', revision: null };

interface LastHead {
  readonly size: number;
  readonly head: string | null;
  readonly keptTo: number;
}

const NO_HEAD: LastHead = { size: 0, head: null, keptTo: 0 };

type Tree = Extract<LedgerVerdict, { ok: true }>;

const nodeSubject = ({ level, index }: TreeNode): Subject => {
  const first = index * 2 ** level + 1;
  return { kind: 'audit trail', key: `node over entries ${first} to ${first + 2 ** level - 1}`, revision: null };
};

const sizeFault = (found: number, left: number): StoredFault =>
  found < left ? { code: 'entries missing at the end', facts: { left } } : { code: 'entry added from outside' };

const unreadableBy = (error: unknown): StoredFault => ({
  code: 'not readable',
  facts: { message: (error as Error).message },
});
