import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import type { SignedStatement } from '../dossier/statement.js';
import type { Event, RecordedEvent } from './event.js';
import { actText } from './signed-acts.js';

/** Under this kind a statement on a lot file names by a digest, beside what its person saw, what had befallen the lot before. */
export const COURSE = 'course';

/** Events that lie over what people decide on a lot. Records tell of all of them. */
export const TOLD_OF_LOT = [
  ...(['hold-placed', 'hold-lifted', 'release-revoked', 'verdicts-changed', 'verdict-changes-seen'] as const),
  ...(['release-conditions', 'act-refused'] as const),
] satisfies Event['type'][];

const TOLD: ReadonlySet<string> = new Set(TOLD_OF_LOT);

/** What befell a lot, in the order of the ledger: the SHA-256 of each act as it was recorded, and of each statement. */
export function courseOfLot(
  statements: readonly { readonly signed: SignedStatement; readonly ledgerSeq: number }[],
  events: readonly RecordedEvent[],
): string[] {
  const acts = events
    .filter(({ event }) => TOLD.has(event.type))
    .map((act) => ({ seq: act.ledgerSeq, digest: sha256Hex(actText(act)) }));
  const signed = statements.map(({ signed: { digest }, ledgerSeq: seq }) => ({ seq, digest }));
  return [...acts, ...signed].sort((a, b) => a.seq - b.seq).map(({ digest }) => digest);
}

/**
 * One digest over a course so far. The person who signs on the lot signs it too, so that whoever holds every other key cannot
 * leave out of a record what came before.
 */
export const courseDigest = (course: readonly string[]): string => sha256Hex(canonicalJson(course));
