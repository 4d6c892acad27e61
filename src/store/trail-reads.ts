import { setImmediate as pause } from 'node:timers/promises';
import { Statement } from '../dossier/statement.js';
import { LedgerEntry } from '../ledger/entry.js';
import { Event } from '../ledger/event.js';
import type { TrailFilter } from '../ledger/trail.js';
import type { PrismaClient } from './generated/client.js';
import { RESULTS_AT, type ReplacedFields } from './sql/lists.js';
import { trailQuery } from './sql/trail.js';

/** A corrected value with the one before it. */
export interface Correction {
  readonly what: string;
  readonly before: string;
  readonly after: string;
  readonly reason: string;
}

/** One question looks at so many entries at most: a rare thing in a long ledger must not hold up a service. */
const STRETCH = 2000;
/** More corrections of one sheet than people read. */
const CORRECTIONS = 1000;

/** What the page and the exports of the audit trail read. */
export class TrailReads {
  constructor(private readonly db: PrismaClient) {}

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
    const { sql, values } = trailQuery(filter, bounds, order);
    const rows = await this.db.$queryRawUnsafe<{ body: string }[]>(sql, ...values);
    await pause();
    return rows.map(({ body }) => LedgerEntry.parse(JSON.parse(body)));
  }

  /** The bodies of a revision and of the one before it. */
  async revisionPair(kind: string, key: string, number: number): Promise<{ before: unknown; after: unknown }> {
    const rows = await this.db.revision.findMany({
      where: { entry: { kind, key }, number: { lte: number } },
      orderBy: { number: 'desc' },
      take: 2,
    });
    const bodies = rows.map((row) => ({ number: row.number, body: JSON.parse(row.body) as unknown }));
    const after = bodies.find((row) => row.number === number);
    const before = bodies.find((row) => row.number < number);
    return { before: before?.body, after: after?.body };
  }

  async event(subject: { kind: string; key: string }, seq: number): Promise<Event | undefined> {
    const where = { subjectKind: subject.kind, subjectKey: subject.key, ledgerSeq: seq };
    const row = await this.db.event.findFirst({ where });
    return row ? Event.parse(JSON.parse(row.body)) : undefined;
  }

  async statement(digest: string): Promise<Statement | undefined> {
    const row = await this.db.signature.findUnique({ where: { digest } });
    return row ? Statement.parse(JSON.parse(row.statement)) : undefined;
  }

  /** Values of one sheet that replaced earlier ones. */
  async corrections(lot: string, seq: number): Promise<Correction[]> {
    const rows = await this.db.result.findMany({
      where: { lot, ledgerSeq: seq, replacesId: { not: null } },
      orderBy: { id: 'asc' },
      take: CORRECTIONS,
    });
    const wanted = JSON.stringify(rows.map((row) => row.replacesId));
    const replaced = await this.db.$queryRawUnsafe<ReplacedFields[]>(RESULTS_AT, wanted);
    const earlier = new Map(replaced.map((row) => [row.id, row]));
    return rows.map((row) => {
      const specimen = row.piece ? `${row.specimen}/${row.piece}` : row.specimen;
      const old = earlier.get(row.replacesId!);
      return {
        what: `${row.characteristic} of ${specimen}, replicate ${row.replicate}`,
        before: old ? `${old.reportedValue} ${old.reportedUcum}` : '',
        after: `${row.reportedValue} ${row.reportedUcum}`,
        reason: row.reason,
      };
    });
  }
}
