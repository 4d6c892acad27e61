import type { SignedStatement } from '../dossier/statement.js';
import type { LedgerEntry } from './entry.js';
import type { Event } from './event.js';
import { ACTS_OF_PEOPLE } from './signed-acts.js';
import type { StampedHead, TimeFault } from './time-fault.js';

/** A clock that once ran ahead stops none of these: units and papers must not go out because of it. */
export const KEEPS_BACK: ReadonlySet<string> = new Set([
  'hold-placed',
  'release-revoked',
  'document-withdrawn',
  'legal-hold-placed',
] satisfies Event['type'][]);

const LETS_GO: ReadonlySet<string> = new Set(ACTS_OF_PEOPLE.filter((type) => !KEEPS_BACK.has(type)));

/** The clock of an authority for time stamps and that of the machine may differ by so much. */
export const CLOCKS_DIFFER_MS = 600_000;

/**
 * Holds the times of signatures, and of acts that let something go, against the order of the entries and against the heads
 * that an authority stamped: whatever came behind such a head was not done before. The program refuses what is otherwise, and
 * whoever has all keys but no witness can put it there.
 */
export class TimesInOrder {
  private latest = '';
  private own = '';
  private stamped: StampedHead | undefined;
  private readonly waiting: StampedHead[];

  /** @param stamps in whatever order. */
  constructor(stamps: readonly StampedHead[]) {
    this.waiting = [...stamps].sort((a, b) => b.size - a.size);
  }

  /**
   * The next entry in the order of the ledger.
   * @returns why the act that it records cannot have been done then.
   */
  next(entry: LedgerEntry): TimeFault | undefined {
    const { seq, at } = entry;
    if (this.own > this.latest) this.latest = this.own;
    this.own = at;
    for (let head = this.waiting.at(-1); head !== undefined && head.size < seq; head = this.waiting.at(-1)) {
      this.waiting.pop();
      if (this.stamped === undefined || head.at > this.stamped.at) this.stamped = head;
    }
    return entry.type === 'event-recorded' && LETS_GO.has(entry.event) ? this.faultOf(at) : undefined;
  }

  /** Why a statement that the last entry records cannot have been signed at this time. */
  faultOfStatement(at: string): TimeFault | undefined {
    return at > this.own ? { code: 'after its own entry', at, entry: this.own } : this.faultOf(at);
  }

  private faultOf(at: string): TimeFault | undefined {
    const { latest, stamped } = this;
    if (at < latest) return { code: 'before an earlier entry', at, latest };
    const isBehind = stamped !== undefined && Date.parse(at) < Date.parse(stamped.at) - CLOCKS_DIFFER_MS;
    return isBehind ? { code: 'before a stamped head', at, stamped } : undefined;
  }
}

/**
 * Statements that their places in the ledger belie, or the stamp of an authority on an earlier head.
 * @param entries some of the ledger, those of the statements among them.
 * @param witnessed a head that somebody keeps; its time counts where an authority stamped it.
 */
export function untimelyAmong(
  statements: readonly SignedStatement[],
  entries: readonly LedgerEntry[],
  witnessed: (StampedHead & { readonly token: string | null }) | undefined,
): { readonly signed: SignedStatement; readonly fault: TimeFault }[] {
  const times = new TimesInOrder(witnessed?.token ? [witnessed] : []);
  const byDigest = new Map(statements.map((signed) => [signed.digest, signed]));
  return [...entries]
    .sort((a, b) => a.seq - b.seq)
    .flatMap((entry) => {
      times.next(entry);
      const signed = entry.type === 'statement-signed' ? byDigest.get(entry.digest) : undefined;
      const fault = signed && times.faultOfStatement(signed.statement.at);
      return signed && fault ? [{ signed, fault }] : [];
    });
}
