import { z } from 'zod';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import type { SignedStatement } from '../dossier/statement.js';
import type { Event, RecordedEvent } from './event.js';
import { actText } from './signed-acts.js';

/** Under this kind a statement on a lot file names by a digest, beside what its person saw, what had befallen the lot before. */
export const COURSE = 'course';

/** What the course calls a statement. */
export const SIGNED = 'signed';

/** Events that lie over what people decide on a lot. Records tell of all of them. */
export const TOLD_OF_LOT = [
  ...(['hold-placed', 'hold-lifted', 'release-revoked', 'verdicts-changed', 'verdict-changes-seen'] as const),
  ...(['release-conditions', 'act-refused'] as const),
] satisfies Event['type'][];

const TOLD: ReadonlySet<string> = new Set(TOLD_OF_LOT);

/** One thing that befell a lot: an act that the audit trail keeps as an event, or a statement. */
export const Befell = z.strictObject({
  what: z.string().describe('type of the event; "signed" for a signature'),
  units: z.array(z.string()).describe('serials; empty where it concerns the lot as a whole'),
  digest: z
    .string()
    .regex(/^[0-9a-f]{64}$/)
    .describe('of the signature, or the SHA-256 of the text of the act'),
});
export type Befell = z.infer<typeof Befell>;

/** What befell a lot, in the order of the ledger. */
export function courseOfLot(
  statements: readonly { readonly signed: SignedStatement; readonly ledgerSeq: number }[],
  events: readonly RecordedEvent[],
): Befell[] {
  const acts = events
    .filter(({ event }) => TOLD.has(event.type))
    .map((act) => ({
      seq: act.ledgerSeq,
      what: act.event.type,
      units: unitsOf(act.event),
      digest: sha256Hex(actText(act)),
    }));
  const signed = statements.map(({ signed: { digest, statement }, ledgerSeq: seq }) => ({
    ...{ seq, what: SIGNED, units: statement.units, digest },
  }));
  return [...acts, ...signed]
    .sort((a, b) => a.seq - b.seq)
    .map(({ what, units, digest }) => ({ what, units: [...units], digest }));
}

const unitsOf = (event: Event): readonly string[] => {
  if (event.type === 'verdicts-changed') return event.implants.map(({ serial }) => serial);
  return 'units' in event ? event.units : [];
};

/**
 * One digest over a course so far. The person who signs on the lot signs it too, so that whoever holds every other key cannot
 * leave out of a record what came before.
 */
export const courseDigest = (course: readonly Befell[]): string => sha256Hex(canonicalJson(course));
