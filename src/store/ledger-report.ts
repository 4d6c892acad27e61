import type { ReadHead } from '../ledger/checkpoint.js';
import type { KeptHeadFinding, StoredFault } from '../ledger/stored-fault.js';
import type { Subject } from '../ledger/subject.js';

/** Something that is not as it was recorded, named by what it touches. */
export interface LedgerFault extends Subject {
  /** The ledger entry that it belongs to, or null when it belongs to none. */
  readonly seq: number | null;
  readonly fault: StoredFault;
}

/** What a head that was kept outside tells of the ledger that is here. */
export interface KeptHead extends ReadHead {
  /** Whether the first `size` entries are still those that the head covers. */
  readonly grownOnly: boolean;
  readonly found: KeptHeadFinding;
}

export interface CheckedLedger {
  /** Types of entries that only a later version knows, where there are any: they hold like all others. */
  readonly laterTypes?: readonly string[];
  /** Entries of the ledger, and the root over all of them when the chain of entries holds. */
  readonly size: number;
  readonly root: string | null;
  readonly rows: number;
  /** Evidence, records and archives of raw rows that were hashed, or null when they were not asked for. */
  readonly files: number | null;
  readonly faultCount: number;
  /** The first of them, in the order of the ledger. */
  readonly faults: readonly LedgerFault[];
  readonly head: KeptHead | null;
}

/** What the check of a whole database found. `seq` and `reason` tell of the first fault. */
export type LedgerReport = CheckedLedger &
  ({ readonly ok: true } | { readonly ok: false; readonly seq: number; readonly reason: StoredFault });
