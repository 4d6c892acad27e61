import { AppError } from '../base/errors.js';
import type { Anchor } from '../ledger/anchor.js';
import { faultOfLastHead, noteKeysOf, type ReadHead, readHead } from '../ledger/checkpoint.js';
import { readEntry } from '../ledger/entry.js';
import { type ChainedKey, chainOf } from '../ledger/key-chain.js';
import { consistencyPlan, proofFrom, verifyConsistency } from '../ledger/proofs.js';
import { GrowingTree, type NodeAt, peaksOf, rootOfPeaks } from '../ledger/tree.js';
import type { StoredEntry } from '../ledger/verify-ledger.js';
import type { Db } from './db.js';
import { Events } from './events.js';
import type { Recorder } from './recorder.js';

const PAGE = 5000;

export interface LeftBehind {
  readonly tree: GrowingTree;
  readonly key: ChainedKey | undefined;
}

/** The audit trail as it is stored. */
export class LedgerRows<R = unknown> {
  constructor(private readonly db: Db<R>) {}

  /** How many entries the last change left. */
  async size(): Promise<number> {
    return (await this.lastHead()).size;
  }

  /** How many entries there were at a moment: they are in the order of their times. */
  async sizeAt(moment: string): Promise<number> {
    let [least, most] = [0, await this.size()];
    while (least < most) {
      const middle = Math.ceil((least + most) / 2);
      const { at } = readEntry(JSON.parse((await this.entry(middle))!.body));
      if (Date.parse(at) <= Date.parse(moment)) least = middle;
      else most = middle - 1;
    }
    return least;
  }

  /** How many entries the last change left, and the head that it signed over them. */
  async lastHead(): Promise<{ size: number; head: string | null }> {
    const [left] = await this.db.ask(this.db.sql.LEDGER_LEFT);
    return { size: Number(left?.size ?? 0), head: left?.head ?? null };
  }

  /** Which programs can read what is stored: those of this generation, and the version that raised it. */
  async generation(): Promise<{ number: number; version: string } | undefined> {
    const [row] = await this.db.ask(this.db.sql.GENERATION);
    return row && { number: Number(row.number), version: row.version };
  }

  /** How many there are with those of this change. */
  sizeNow(this: LedgerRows<Recorder>): number {
    return this.db.recorder.ledgerSize;
  }

  /** Names the folder in the first entry of an empty ledger; one that is not empty stays as it is. */
  async begin(this: LedgerRows<Recorder>, program: string): Promise<void> {
    if (this.sizeNow() === 0) await this.db.recorder.record({ type: 'folder-created', program }, {});
  }

  /** Root over the first `size` entries, from stored nodes. */
  async root(size: number): Promise<string> {
    const peaks = peaksOf(size);
    const hashOf = await this.hashes(peaks);
    return rootOfPeaks(peaks.map(hashOf));
  }

  /**
   * Hashes of stored nodes, read in two questions.
   * @returns what gives the hash of each of them; it throws AppError ALTERED for one that is not stored.
   */
  async hashes(nodes: readonly NodeAt[]): Promise<(node: NodeAt) => string> {
    const inner = nodes.filter(({ level }) => level > 0).map(({ level, index }) => [level, index]);
    const seqs = nodes.filter(({ level }) => level === 0).map(({ index }) => index + 1);
    const [leaves, stored] = await Promise.all([
      seqs.length === 0 ? [] : this.db.ask(this.db.sql.LEAVES, JSON.stringify(seqs)),
      inner.length === 0 ? [] : this.db.ask(this.db.sql.NODES, JSON.stringify(inner)),
    ]);
    const hashes = new Map(stored.map(({ level, index, hash }) => [`${level} ${index}`, hash]));
    for (const { seq, leaf } of leaves) hashes.set(`0 ${seq - 1}`, leaf);
    return ({ level, index }) => {
      const hash = hashes.get(`${level} ${index}`);
      if (hash !== undefined) return hash;
      throw new AppError('ALTERED', `the ledger lacks a node (level ${level}, place ${index}): run ledger verify`);
    };
  }

  /**
   * The tree that the last change left, from stored nodes, held against the head that it signed and against what is kept
   * outside: nothing is appended to a ledger that was written anew or put back.
   * @param anchor null where two people are about to accept the ledger as it is.
   * @returns the tree, and the key that signs from now on, if any is named yet.
   * @throws AppError ALTERED when a key does not follow from the first one, when the head is missing, not signed by a key
   * of this folder, or of another tree, and when the ledger did not grow from what the anchor holds.
   */
  async treeLeftBehind(size: number, head: string | null, anchor: Anchor | null): Promise<LeftBehind> {
    const { keys, faults } = chainOf(await new Events(this.db).installationKeys(), anchor ?? undefined);
    const [broken] = faults;
    if (broken) throw changedOutside(`the key ${broken.fingerprint} is ${broken.fault}`);
    const tree = await this.storedTree(size);
    const fault = size === 0 ? undefined : faultOfLastHead(head, noteKeysOf(keys), size, tree.root());
    if (fault !== undefined) {
      const why = fault.what === 'not readable' ? fault.error : fault.what;
      throw changedOutside(`the head that was signed last does not hold (${why})`);
    }
    const anchored = anchor?.head && readHead(anchor.head, noteKeysOf(keys));
    if (anchored) await this.refuseWhatDoesNotFollow(anchored, size, tree.root());
    return { tree, key: keys.at(-1) };
  }

  private async storedTree(size: number): Promise<GrowingTree> {
    const peaks = peaksOf(size);
    const hashOf = await this.hashes(peaks);
    return GrowingTree.of(size, peaks.map(hashOf));
  }

  private async refuseWhatDoesNotFollow(anchored: ReadHead, size: number, root: string): Promise<void> {
    const { size: oldSize, root: oldRoot, signedBy } = anchored;
    if (signedBy === null) throw changedOutside('the head in the anchor is signed by no key of this folder');
    if (oldSize > size) throw changedOutside(`the anchor covers ${oldSize} entries, and there are ${size}`);
    const plan = consistencyPlan(oldSize, size);
    const proof = proofFrom(plan, await this.hashes(plan.flat()));
    if (verifyConsistency({ oldSize, size, oldRoot, root, proof })) return;
    throw changedOutside(`the first ${oldSize} entries are not those that the anchor covers`);
  }

  async entry(seq: number): Promise<StoredEntry | undefined> {
    return (await this.db.ask(this.db.sql.LEDGER_ENTRY, seq))[0];
  }

  /** Entries by their numbers, in their order. */
  async entries(seqs: readonly number[]): Promise<StoredEntry[]> {
    return this.db.ask(this.db.sql.LEDGER_ENTRIES, JSON.stringify(seqs));
  }

  /** Entries after `seq`, one page at a time, so that memory does not grow with the ledger. */
  async page(afterSeq: number, take = PAGE): Promise<StoredEntry[]> {
    return this.db.ask(this.db.sql.LEDGER_AFTER, afterSeq, take);
  }
}

const changedOutside = (what: string): AppError =>
  new AppError(
    'ALTERED',
    `${what}: somebody changed the database from outside, or put an older one back; run ledger verify`,
  );
