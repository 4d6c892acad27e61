import { SignedStatement } from '../dossier/statement.js';
import { AppError } from '../errors.js';
import { Event, type RecordedEvent } from '../ledger/event.js';
import type { Prisma } from './generated/client.js';
import { SIGNATURES_ON, type SignatureFields } from './sql/lists.js';

/** Both sides read events and signatures the same way: the reading connection, and a change that must not be outrun. */
type Rows = Pick<Prisma.TransactionClient, 'event' | 'signature' | '$queryRawUnsafe'>;

/** Events in the order of recording. */
export async function eventsIn(rows: Rows, where: Prisma.EventWhereInput): Promise<RecordedEvent[]> {
  const found = await rows.event.findMany({ where, orderBy: { id: 'asc' } });
  return found.map((row) => ({
    event: readable(`event ${row.id}, ${row.type} of ${row.subjectKind} ${row.subjectKey},`, () =>
      Event.parse(JSON.parse(row.body)),
    ),
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
  return found.map(recorded);
}

const recorded = ({ statement, digest, signature, ledgerSeq }: SignatureFields): RecordedSignature => ({
  signed: SignedStatement.parse({ statement: JSON.parse(statement), digest, signature }),
  ledgerSeq,
});

/** What was stored can always be read, unless the file of the database was damaged or changed. */
function readable<T>(what: string, read: () => T): T {
  try {
    return read();
  } catch {
    throw new AppError('ALTERED', `${what} cannot be read: run ledger verify, and restore a backup`);
  }
}

/** Signed statements on any of these digests, in the order of signing. */
export async function signaturesOnDigests(rows: Rows, digests: readonly string[]): Promise<RecordedSignature[]> {
  const found = await rows.$queryRawUnsafe<SignatureFields[]>(SIGNATURES_ON, JSON.stringify(digests));
  return found.map(recorded);
}

/** Keys that signed statements and heads here, oldest first. */
export async function installationKeysIn(rows: Rows): Promise<{ fingerprint: string; publicPem: string }[]> {
  return (await eventsIn(rows, { type: 'key-made' })).flatMap(({ event }) =>
    event.type === 'key-made' && event.purpose === 'installation' ? [event] : [],
  );
}
