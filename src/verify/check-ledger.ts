import { AppError } from '../base/errors.js';
import { canonicalJson } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import type { SignedStatement } from '../dossier/statement.js';
import { originOf, parseCheckpoint, parseNote, type ReadHead, readHead } from '../ledger/checkpoint.js';
import { isKnownType, type LedgerEntry, readEntry } from '../ledger/entry.js';
import { verifyConsistency, verifyInclusion } from '../ledger/proofs.js';
import { untimelyAmong } from '../ledger/times-in-order.js';
import { leafHash } from '../ledger/tree.js';
import type { EarlierRecord, Enclosure, InclusionProof } from '../records/enclosure.js';
import type { Unproven, VerifyFinding } from '../report/phrases/verify.js';
import { statementName, statementsOf } from './check-statements.js';
import { jsonOf } from './read-carried.js';
import type { Steps } from './report.js';

/**
 * Checks the head of the audit trail that the record carries: who signed it, and that what the record rests on stands
 * under it, by the proofs of RFC 6962.
 * @returns fingerprint of the key that signed the head, when all of it holds.
 */
export const checkLedger = (enclosure: Enclosure, facts: Facts | undefined, steps: Steps): string | undefined =>
  checkHead(
    { ...enclosure, draft: enclosure.record.draft },
    { expected: expectedEntries(enclosure, facts), statements: statementsOf(enclosure, facts) },
    steps,
  );

/** What carries a head of the audit trail. */
export type UnderHead = Pick<Enclosure, 'ledger' | 'keys'> & { readonly draft: boolean };

/** What has to stand under a head, and the statements among it, whose times have to go with their places. */
interface StandsUnder {
  readonly expected: readonly Expected[];
  readonly statements: readonly SignedStatement[];
}

/** The same of whatever carries a head. */
export function checkHead(
  enclosure: UnderHead,
  { expected, statements }: StandsUnder,
  steps: Steps,
): string | undefined {
  const { checkpoint, proofs } = enclosure.ledger;
  const { size, root } = enclosure.ledger;
  if (checkpoint === null) {
    if (!enclosure.draft) return steps.broken('audit trail', { code: 'final without head' });
    steps.skip('audit trail', { code: 'draft without head', facts: { size, root } });
    return undefined;
  }
  const head = readSignedHead(checkpoint, enclosure, steps);
  if (!head) return undefined;
  const entries: LedgerEntry[] = [];
  for (const proof of proofs) {
    const entry = provenEntry(proof, head);
    if (!entry) return steps.broken('audit trail', { code: 'entry altered', facts: { seq: proof.seq } });
    entries.push(entry);
  }
  const missing = expected.filter(({ found }) => !entries.some(found));
  for (const { unproven } of missing) steps.broken('audit trail', { code: 'not proven', facts: { unproven } });
  const untimely = untimelyAmong(statements, entries, enclosure.ledger.witnessed);
  for (const { signed, fault } of untimely) {
    steps.broken('audit trail', { code: 'time does not hold', facts: { statement: statementName(signed), fault } });
  }
  if (missing.length > 0 || untimely.length > 0) return undefined;
  // They are proven like all others.
  const later = [...new Set(entries.filter((entry) => !isKnownType(entry)).map(({ type }) => type))];
  const proven = { size, key: head.signedBy, entries: entries.length, later };
  steps.holds('audit trail', { code: 'head holds', facts: proven });
  return head.signedBy ?? undefined;
}

function readSignedHead(checkpoint: string, { ledger, keys }: UnderHead, steps: Steps): ReadHead | undefined {
  const wrong = (finding: VerifyFinding): undefined => steps.broken('audit trail', finding);
  try {
    const note = parseNote(checkpoint);
    const { origin } = parseCheckpoint(note.text);
    const head = readHead(
      note,
      keys.map(({ publicPem }) => ({ name: origin, publicPem })),
    );
    if (head.size !== ledger.size || head.root !== ledger.root) return wrong({ code: 'another head' });
    if (head.signedBy === null) return wrong({ code: 'head of no known key' });
    if (!keys.some(({ fingerprint }) => originOf(fingerprint) === origin)) {
      return wrong({ code: 'head of another origin', facts: { origin } });
    }
    return head;
  } catch (error) {
    if (error instanceof AppError) return wrong({ code: 'head altered', facts: { message: error.message } });
    throw error;
  }
}

/** The entry, when it is one and stands in its place under the head. */
function provenEntry({ seq, entry, path }: InclusionProof, { size, root }: ReadHead): LedgerEntry | undefined {
  const value = jsonOf(entry);
  const read = entryOf(value);
  if (!read || read.seq !== seq || canonicalJson(value) !== entry) return undefined;
  const stands = verifyInclusion({ index: seq - 1, size, leaf: leafHash(entry), root, proof: path });
  return stands ? read : undefined;
}

function entryOf(value: unknown): LedgerEntry | undefined {
  try {
    return readEntry(value);
  } catch {
    return undefined;
  }
}

/** What has to stand in the audit trail, and how it is known there. */
export interface Expected {
  readonly unproven: Unproven;
  readonly found: (entry: LedgerEntry) => boolean;
}

/** What has to stand in the audit trail before a record of it can be issued. */
function expectedEntries(enclosure: Enclosure, facts: Facts | undefined): Expected[] {
  const { lot, dossierSha256, assessmentSha256, seal } = enclosure;
  const expected: Expected[] = [
    {
      unproven: { thing: 'lot file' },
      found: (entry) => entry.type === 'dossier-frozen' && entry.lot === lot && entry.digest === dossierSha256,
    },
    {
      unproven: { thing: 'assessment' },
      found: (entry) =>
        entry.type === 'assessment-made' && entry.dossier === dossierSha256 && entry.digest === assessmentSha256,
    },
  ];
  return [...expected, ...expectedSignatures(statementsOf(enclosure, facts)), ...expectedSeal(seal)];
}

export const expectedSignatures = (statements: readonly SignedStatement[]): Expected[] =>
  statements.map((signed) => ({
    unproven: { thing: 'signature', statement: statementName(signed) },
    found: (entry) => entry.type === 'statement-signed' && entry.digest === signed.digest,
  }));

export const expectedSeal = (seal: Enclosure['seal']): Expected[] =>
  seal === null
    ? []
    : [
        {
          unproven: { thing: 'certificate', sha256: seal.certificateSha256 },
          found: (entry) =>
            entry.type === 'event-recorded' &&
            entry.event === 'key-made' &&
            entry.subject.key === seal.certificateSha256,
        },
      ];

/** Whether the audit trail of an earlier record only grew into the one of this record. */
export function growsFrom(earlier: EarlierRecord, { ledger }: Pick<Enclosure, 'ledger'>): boolean {
  return verifyConsistency({
    oldSize: earlier.size,
    size: ledger.size,
    oldRoot: earlier.root,
    root: ledger.root,
    proof: earlier.consistency,
  });
}
