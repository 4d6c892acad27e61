import { canonicalJson } from '../dossier/canonical.js';
import { LedgerEntry } from './entry.js';
import { GrowingTree, leafHash } from './tree.js';

export interface StoredEntry {
  readonly seq: number;
  readonly body: string;
  readonly leaf: string;
}

export type LedgerVerdict =
  | { readonly ok: true; readonly size: number; readonly root: string }
  | { readonly ok: false; readonly seq: number; readonly reason: string };

/**
 * Recomputes everything from the entries alone, trusting no stored hash, and names the first entry that is wrong.
 * Entries come one at a time, so that memory does not grow with the ledger.
 */
export class LedgerCheck {
  private readonly tree = new GrowingTree();
  private wrong: { seq: number; reason: string } | undefined;

  /** @returns false once an entry is wrong: what follows it is not looked at. */
  add(entry: StoredEntry): boolean {
    const seq = this.tree.size + 1;
    const reason = this.wrong ? this.wrong.reason : wrongWith(entry, seq);
    if (reason !== undefined) {
      this.wrong ??= { seq, reason };
      return false;
    }
    this.tree.add(leafHash(entry.body));
    return true;
  }

  verdict(): LedgerVerdict {
    if (this.wrong) return { ok: false, ...this.wrong };
    return { ok: true, size: this.tree.size, root: this.tree.root() };
  }
}

/** As `LedgerCheck`, for entries that are at hand. */
export function verifyLedger(entries: Iterable<StoredEntry>): LedgerVerdict {
  const check = new LedgerCheck();
  for (const entry of entries) if (!check.add(entry)) break;
  return check.verdict();
}

function wrongWith({ seq, body, leaf }: StoredEntry, expected: number): string | undefined {
  if (seq !== expected) return `entry ${expected} is missing: the next one is ${seq}`;
  if (leafHash(body) !== leaf) return 'its text is not the text that was hashed';
  let value: unknown;
  try {
    value = JSON.parse(body);
  } catch {
    return 'its text is not JSON';
  }
  if (canonicalJson(value) !== body) return 'its text is not in canonical form';
  const parsed = LedgerEntry.safeParse(value);
  if (!parsed.success) return `its text is not a known entry: ${parsed.error.issues[0]!.message}`;
  if (parsed.data.seq !== seq) return `it says that it is entry ${parsed.data.seq}`;
  return undefined;
}
