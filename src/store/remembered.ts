import { type LedgerEntry, readEntry } from '../ledger/entry.js';
import type { Reads } from './repositories.js';

/** Whether an entry of the audit trail may change an answer. */
export type Touches = (entry: LedgerEntry) => boolean;

export const anyOf =
  (...touches: readonly Touches[]): Touches =>
  (entry) =>
    touches.some((touch) => touch(entry));

/** Revisions of documents of these kinds. */
export function revisionsOf(...kinds: readonly string[]): Touches {
  const known = new Set(kinds);
  return (entry) => entry.type === 'revision-recorded' && known.has(entry.kind);
}

export const ofType =
  (...types: readonly LedgerEntry['type'][]): Touches =>
  ({ type }) =>
    types.includes(type);

/** More entries than these are not looked through: the answer is asked for anew. */
const MOST_LOOKED_AT = 400;

interface Known<T> {
  readonly state: string;
  readonly size: number;
  readonly answer: Promise<T>;
}

/**
 * An answer over all documents of some kinds, of which hardly any touches it: it is asked for anew when the audit trail has
 * grown by an entry that may change it, whichever program wrote that.
 */
export class Remembered<T> {
  private known: Known<T> | undefined;

  constructor(
    private readonly touches: Touches,
    private readonly ask: (read: Reads) => Promise<T>,
  ) {}

  /** @param state what the answer rests on besides what is stored, such as the day. */
  async of(read: Reads, state = ''): Promise<T> {
    // Before the question: what is stored while it is answered counts as new.
    const size = await read.ledger.size();
    const known = this.known;
    if (known?.state === state && (known.size === size || (await this.isUntouched(read, known.size, size)))) {
      if (this.known === known) this.known = { ...known, size };
      return known.answer;
    }
    const answer = this.ask(read);
    const own = { state, size, answer };
    this.known = own;
    answer.catch(() => {
      if (this.known?.answer === answer) this.known = undefined;
    });
    return answer;
  }

  private async isUntouched({ ledger }: Reads, from: number, to: number): Promise<boolean> {
    if (to < from || to - from > MOST_LOOKED_AT) return false;
    const entries = await ledger.page(from, to - from);
    return !entries.some(({ body }) => this.touches(readEntry(JSON.parse(body))));
  }
}
