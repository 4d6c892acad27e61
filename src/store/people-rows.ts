import { AppError } from '../base/errors.js';
import { SignedStatement } from '../dossier/statement.js';
import { Event, type RecordedEvent } from '../ledger/event.js';
import type { Prisma } from './generated/client.js';
import { SIGNATURES_BETWEEN, type SignatureFields } from './sql/lists.js';
import { boundsOfStart } from './sql/revisions.js';

/** Both sides read events and signatures the same way: the reading connection, and a change that must not be outrun. */
type Rows = Pick<Prisma.TransactionClient, 'event' | '$queryRawUnsafe'>;

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

/** Signed statements that one of the questions of `lists.ts` finds, in the order of signing, each once. */
export async function signaturesBy(
  rows: Rows,
  question: string,
  ...values: readonly string[]
): Promise<RecordedSignature[]> {
  const found = await rows.$queryRawUnsafe<SignatureFields[]>(question, ...values);
  return found.map(({ statement, digest, signature, ledgerSeq }) => ({
    signed: readable(`statement ${digest}`, () =>
      SignedStatement.parse({ statement: JSON.parse(statement), digest, signature }),
    ),
    ledgerSeq,
  }));
}

/** What was stored can always be read, unless the file of the database was damaged or changed. */
function readable<T>(what: string, read: () => T): T {
  try {
    return read();
  } catch {
    throw new AppError('ALTERED', `${what} cannot be read: run ledger verify, and restore a backup`);
  }
}

/** Statements on things of a kind whose keys begin alike, byte by byte: those of one lot and of no other. */
export function signaturesStarting(rows: Rows, kind: string, start: string): Promise<RecordedSignature[]> {
  const { from, before } = boundsOfStart(start);
  return signaturesBy(rows, SIGNATURES_BETWEEN, kind, from, before);
}

/** Keys that signed statements and heads here, oldest first. */
export async function installationKeysIn(rows: Rows): Promise<{ fingerprint: string; publicPem: string }[]> {
  return (await eventsIn(rows, { type: 'key-made' })).flatMap(({ event }) =>
    event.type === 'key-made' && event.purpose === 'installation' ? [event] : [],
  );
}
