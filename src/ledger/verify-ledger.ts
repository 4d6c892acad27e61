import { canonicalJson } from '../dossier/canonical.js';
import { LedgerEntry } from './entry.js';
import { leafHash, RootBuilder } from './tree.js';

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
 * Memory does not grow with the ledger.
 */
export function verifyLedger(entries: Iterable<StoredEntry>): LedgerVerdict {
  const tree = new RootBuilder();
  for (const entry of entries) {
    const expected = tree.size + 1;
    const wrong = wrongWith(entry, expected);
    if (wrong) return { ok: false, seq: expected, reason: wrong };
    tree.add(leafHash(entry.body));
  }
  return { ok: true, size: tree.size, root: tree.root() };
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
