import type { z } from 'zod';
import { isCanonicalJson } from '../dossier/canonical.js';
import { isKnownType, type LedgerEntry, readEntry } from './entry.js';
import type { EntryFault } from './stored-fault.js';
import { GrowingTree, leafHash, type TreeNode } from './tree.js';

export interface StoredEntry {
  readonly seq: number;
  readonly body: string;
  readonly leaf: string;
}

export type LedgerVerdict =
  | { readonly ok: true; readonly size: number; readonly root: string }
  | { readonly ok: false; readonly seq: number; readonly reason: EntryFault };

/** What came of one entry. */
export interface CheckedEntry {
  /** The entry, wherever its text can be read as one. */
  readonly entry: LedgerEntry | undefined;
  /** Inner nodes of the tree that this entry completes; none behind the first wrong entry. */
  readonly nodes: readonly TreeNode[];
}

/**
 * Recomputes everything from the entries alone, trusting no stored hash, and names the first entry that is wrong.
 * Entries come one at a time, so that memory does not grow with the ledger.
 */
export class LedgerCheck {
  private readonly tree = new GrowingTree();
  private wrong: { seq: number; reason: EntryFault } | undefined;
  private readonly watched = new Map<number, string>();
  private readonly later = new Set<string>();

  /** @param watchedSizes the sizes at which the root is kept, for heads that cover so many entries. */
  constructor(private readonly watchedSizes: readonly number[] = []) {
    this.watch();
  }

  private watch(): void {
    if (this.watchedSizes.includes(this.tree.size)) this.watched.set(this.tree.size, this.tree.root());
  }

  add(stored: StoredEntry): CheckedEntry {
    const { entry, fault } = checkEntry(stored);
    if (this.wrong) return { entry, nodes: [] };
    const expected = this.tree.size + 1;
    const { seq } = stored;
    const missing: EntryFault = { code: 'entry missing', facts: { seq: expected, next: seq } };
    const reason = seq === expected ? fault : missing;
    if (reason !== undefined) {
      this.wrong = { seq: expected, reason };
      return { entry, nodes: [] };
    }
    if (entry && !isKnownType(entry)) this.later.add(entry.type);
    // The leaf that is stored was compared with the text.
    const nodes = this.tree.add(stored.leaf);
    this.watch();
    return { entry, nodes };
  }

  /** Root over a watched number of entries, or undefined when there are not so many good ones. */
  watchedRoot(size: number): string | undefined {
    return this.watched.get(size);
  }

  /** Types of entries that only a later version knows. They hold like all others. */
  get laterTypes(): readonly string[] {
    return [...this.later].sort();
  }

  verdict(): LedgerVerdict {
    if (this.wrong) return { ok: false, ...this.wrong };
    return { ok: true, size: this.tree.size, root: this.tree.root() };
  }
}

/** As `LedgerCheck`, for entries that are at hand. */
export function verifyLedger(entries: Iterable<StoredEntry>): LedgerVerdict {
  const check = new LedgerCheck();
  for (const entry of entries) check.add(entry);
  return check.verdict();
}

function checkEntry({ seq, body, leaf }: StoredEntry): {
  entry: LedgerEntry | undefined;
  fault: EntryFault | undefined;
} {
  // A damaged row may hold anything in any column.
  if (typeof body !== 'string') return { entry: undefined, fault: CHANGED_TEXT };
  let value: unknown;
  try {
    value = JSON.parse(body);
  } catch {
    return { entry: undefined, fault: leafHash(body) === leaf ? { code: 'text not JSON' } : CHANGED_TEXT };
  }
  const { entry, says } = readOrSay(value);
  return { entry, fault: faultOf() };

  function faultOf(): EntryFault | undefined {
    if (leafHash(body) !== leaf) return CHANGED_TEXT;
    if (!isCanonicalJson(body, value)) return { code: 'text not canonical' };
    if (!entry) return { code: 'no known entry', facts: { message: says ?? '' } };
    return entry.seq === seq ? undefined : { code: 'another number', facts: { seq: entry.seq } };
  }
}

function readOrSay(value: unknown): { entry?: LedgerEntry; says?: string } {
  try {
    return { entry: readEntry(value) };
  } catch (error) {
    return { says: (error as z.ZodError).issues[0]!.message };
  }
}

const CHANGED_TEXT: EntryFault = { code: 'text changed' };
