import { setImmediate as pause } from 'node:timers/promises';
import { type LedgerEntry, readEntry } from '../ledger/entry.js';
import type { TrailFilter } from '../ledger/trail.js';
import type { Db } from './db.js';

/** One question looks at so many entries at most: a rare thing in a long ledger must not hold up a service. */
const STRETCH = 2000;

/** What the page and the exports of the audit trail read. */
export class Trail {
  constructor(private readonly db: Db) {}

  /** Entries before `before` that the filter lets through, newest first, at most `take`. */
  async before(filter: TrailFilter, before: number, take: number): Promise<LedgerEntry[]> {
    const found: LedgerEntry[] = [];
    for (let upTo = before - 1; upTo > 0 && found.length < take; upTo -= STRETCH) {
      const after = Math.max(0, upTo - STRETCH);
      found.push(...(await this.stretch(filter, { after, upTo, take: take - found.length }, 'newest first')));
    }
    return found;
  }

  /** Entries up to `last` that the filter lets through, oldest first, a few at a time. */
  async *oldestFirst(filter: TrailFilter, last: number): AsyncGenerator<LedgerEntry> {
    for (let after = 0; after < last; after += STRETCH) {
      const upTo = Math.min(last, after + STRETCH);
      yield* await this.stretch(filter, { after, upTo, take: STRETCH }, 'oldest first');
    }
  }

  private async stretch(
    filter: TrailFilter,
    bounds: { after: number; upTo: number; take: number },
    order: 'oldest first' | 'newest first',
  ): Promise<LedgerEntry[]> {
    const { sql, values } = this.db.sql.trailQuery(filter, bounds, order);
    const rows = await this.db.ask(sql, ...values);
    await pause();
    return rows.map(({ body }) => readEntry(JSON.parse(body)));
  }
}
