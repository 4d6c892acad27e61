import { SignedStatement } from '../dossier/statement.js';
import { Event, type RecordedEvent } from '../ledger/event.js';
import type { Prisma } from './generated/client.js';

/** Both sides read events and signatures the same way: the reading connection, and a change that must not be outrun. */
type Rows = Pick<Prisma.TransactionClient, 'event' | 'signature'>;

/** SQLite takes at most 32 766 values in one statement; far below it, statements stay short. */
const AT_ONCE = 5000;

/** Events in the order of recording. */
export async function eventsIn(rows: Rows, where: Prisma.EventWhereInput): Promise<RecordedEvent[]> {
  const found = await rows.event.findMany({ where, orderBy: { id: 'asc' } });
  return found.map((row) => ({
    event: Event.parse(JSON.parse(row.body)),
    at: row.recordedAt,
    offset: row.recordedOffset,
    actor: row.actor,
    reason: row.reason,
    ledgerSeq: row.ledgerSeq,
  }));
}

/** A signed statement with its place in the ledger. */
export interface RecordedSignature {
  readonly signed: SignedStatement;
  readonly ledgerSeq: number;
}

/** Signed statements in the order of signing. */
export async function signaturesIn(rows: Rows, where: Prisma.SignatureWhereInput): Promise<RecordedSignature[]> {
  const found = await rows.signature.findMany({ where, orderBy: { ledgerSeq: 'asc' } });
  return found.map(({ statement, digest, signature, ledgerSeq }) => ({
    signed: SignedStatement.parse({ statement: JSON.parse(statement), digest, signature }),
    ledgerSeq,
  }));
}

/** Signed statements on any of these digests, in the order of signing. */
export async function signaturesOnDigests(rows: Rows, digests: readonly string[]): Promise<RecordedSignature[]> {
  const found: RecordedSignature[] = [];
  for (let from = 0; from < digests.length; from += AT_ONCE) {
    found.push(...(await signaturesIn(rows, { subjectDigest: { in: digests.slice(from, from + AT_ONCE) } })));
  }
  return found.sort((a, b) => a.ledgerSeq - b.ledgerSeq);
}

/** Keys that signed statements and heads here, oldest first. */
export async function installationKeysIn(rows: Rows): Promise<{ fingerprint: string; publicPem: string }[]> {
  return (await eventsIn(rows, { type: 'key-made' })).flatMap(({ event }) =>
    event.type === 'key-made' && event.purpose === 'installation' ? [event] : [],
  );
}
