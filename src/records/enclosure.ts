import { z } from 'zod';
import { RELEASE_STEPS } from '../dossier/release-step.js';
import { SignedStatement } from '../dossier/statement.js';
import { PLACES } from '../kinds/after-release/places.js';
import { Befell } from '../ledger/course-of-lot.js';
import { HoldCause, TurnedVerdicts } from '../ledger/event.js';
import { LinkEndorsement, PERSON_KEY } from '../ledger/person-keys.js';
import { CitedStatement } from '../report/cited-statement.js';
import { FamilyBefore } from '../report/family-before.js';
import { RecordChange } from '../report/record-change.js';

const Digest = z.string().regex(/^[0-9a-f]{64}$/);

export const AttachmentRef = z.strictObject({
  name: z.string(),
  sha256: Digest,
  bytes: z.int().nonnegative(),
  mediaType: z.string(),
  describes: z.string(),
});
export type AttachmentRef = z.infer<typeof AttachmentRef>;

/** A public key of the installation, past ones included, so that what they signed can be checked with the file alone. */
export const PublicKey = z.strictObject({
  fingerprint: Digest.describe('SHA-256 of its SubjectPublicKeyInfo in DER'),
  publicPem: z.string(),
  replaces: Digest.nullable().optional().describe('fingerprint of the key before; absent or null for the first one'),
  endorsement: z.string().optional().describe('Ed25519 by the key before over the succession, base64'),
  acceptance: z.string().optional().describe('Ed25519 by this key over the succession, base64'),
  persons: z.array(z.string()).optional().describe('who vouch for it after the loss of the key before'),
});
export type PublicKey = z.infer<typeof PublicKey>;

/** A key of somebody who signed, or who vouches for one of those. */
export const KeyOfPerson = z.strictObject({
  ...PERSON_KEY,
  madeAt: z.iso.datetime(),
  closedAt: z.iso.datetime().nullable().describe('when the account of the person was closed, and the key with it'),
});
export type KeyOfPerson = z.infer<typeof KeyOfPerson>;

/** That an entry stands in the audit trail whose head the record carries (RFC 6962, section 2.1.1). */
export const InclusionProof = z.strictObject({
  seq: z.int().positive(),
  entry: z.string().describe('the entry as canonical JSON'),
  path: z.array(Digest).describe('from the leaf upwards'),
});
export type InclusionProof = z.infer<typeof InclusionProof>;

/** A record of the same lot that was issued before, and that its audit trail only grew since (RFC 6962, 2.1.2). */
export const EarlierRecord = z.strictObject({
  number: z.string(),
  revision: z.int().positive(),
  size: z.int().nonnegative(),
  root: Digest,
  consistency: z.array(Digest),
});
export type EarlierRecord = z.infer<typeof EarlierRecord>;

/** A first page of the lot that somebody signed, whatever state of the lot it is of. */
export const CarriedSummary = z.strictObject({
  sha256: Digest.describe('as the statement names it'),
  text: z.string().describe('the first page as canonical JSON'),
});
export type CarriedSummary = z.infer<typeof CarriedSummary>;

/** The head that was given to a witness last, and that the audit trail only grew since (RFC 6962, 2.1.2). */
export const WitnessedHead = z.strictObject({
  by: z.string().describe('folder in which it was left, or name of the authority that stamped it'),
  at: z.iso.datetime(),
  size: z.int().positive(),
  root: Digest,
  consistency: z.array(Digest),
  token: z.string().nullable().describe('time stamp (RFC 3161) over the first three lines of the head, base64'),
});
export type WitnessedHead = z.infer<typeof WitnessedHead>;

/**
 * Units that were put on hold or taken off it, whose release was revoked, or whose verdict rules of another version changed
 * and somebody looked at that; what held on the day of a release, and what somebody wanted to do and was refused.
 */
export const StateNote = z.strictObject({
  what: z.enum([
    ...(['hold-placed', 'hold-lifted', 'release-revoked', 'verdicts-changed', 'verdict-changes-seen'] as const),
    'release-conditions',
    'act-refused',
  ]),
  units: z.array(z.string()),
  by: z.string(),
  at: z.string(),
  reason: z.string(),
  step: z.enum(RELEASE_STEPS).optional().describe('of a revoked release: what it was for'),
  warns: z.string().optional().describe('of conditions of a release: those that were near their limit'),
  turned: TurnedVerdicts.optional().describe('of changed verdicts'),
  cause: HoldCause.optional().describe('of a hold that the program placed by itself: the document that came in'),
  signed: z
    .strictObject({
      text: z.string().describe('the act as canonical JSON, whole'),
      signatures: z.array(LinkEndorsement).describe('over it, by the key of whoever acted'),
    })
    .optional()
    .describe('of acts of people'),
  text: z
    .string()
    .optional()
    .describe('of what the program recorded: as the audit trail has it, canonical JSON; absent in a copy for one case'),
});
export type StateNote = z.infer<typeof StateNote>;

/** Where a part of the lot was when the record was issued, from documents, releases and holds. */
export const PlaceNote = z.strictObject({
  kind: z.enum(['implant', 'coupon']),
  key: z.string(),
  place: z.enum(PLACES),
  since: z.string().nullable(),
  by: z.strictObject({ kind: z.string(), key: z.string() }).nullable().describe('document that says so'),
  holder: z.strictObject({ institution: z.string(), address: z.string() }).nullable(),
  held: z.boolean(),
  contradicted: z.boolean().describe('a document on record cannot be true of it'),
});
export type PlaceNote = z.infer<typeof PlaceNote>;

/** Nonconformities of one sort over all lots, as far as one of them touches the lot, and what is done against them. */
export const NonconformityNotes = z.strictObject({
  alike: z.array(z.strictObject({ sort: z.string(), nonconformities: z.array(z.string()), lots: z.array(z.string()) })),
  actions: z.array(
    z.strictObject({
      action: z.string(),
      revision: z.int().positive(),
      triggers: z.array(z.string()).describe('codes'),
      cause: z.string(),
      steps: z.array(z.strictObject({ what: z.string(), dueOn: z.string(), doneOn: z.string().nullable() })),
      dueOn: z.string().describe('when it is looked at whether it worked'),
      effect: z.strictObject({ on: z.string(), result: z.string(), says: z.string() }).nullable(),
      closed: z.strictObject({ by: z.string(), at: z.string() }).nullable().describe('who signed that, and when'),
    }),
  ),
});
export type NonconformityNotes = z.infer<typeof NonconformityNotes>;

/** What a record shows beside the dossier. Its digest stands on page 1 and covers every attachment by its SHA-256. */
export const Enclosure = z.strictObject({
  format: z.literal(1),
  record: z.strictObject({
    number: z.string(),
    revision: z.int().positive(),
    draft: z.boolean().describe('until one implant is decided'),
    final: z
      .boolean()
      .describe('every implant is rejected, gone, or released for distribution through every gate of its route'),
  }),
  demo: z.boolean(),
  lot: z.string(),
  dossierSha256: Digest,
  assessmentSha256: Digest,
  program: z.string(),
  node: z.string().describe('version of Node.js that computed and rendered it'),
  printedAt: z.string().describe('UTC'),
  printedOffset: z.string(),
  printedBy: z.string(),
  template: z.strictObject({ revision: z.int().positive(), sha256: Digest }),
  /** Everything that was signed about this lot and what it rests on, in the order of signing. */
  signatures: z.array(SignedStatement),
  summaries: z.array(CarriedSummary).optional().describe('first pages of the lot that these signatures cover'),
  /** Holds, revocations and changed verdicts, in the order of the ledger: they lie over whatever was decided. */
  states: z.array(StateNote),
  course: z
    .array(Befell)
    .optional()
    .describe(
      'what befell the lot, in the order of the audit trail; in a copy for one case also what it does not tell',
    ),
  places: z.array(PlaceNote).optional().describe('absent in records of versions that did not record it'),
  nonconformities: NonconformityNotes.optional().describe('absent where none of the lot has a sort or an action'),
  keys: z.array(PublicKey).describe('the key in use first'),
  people: z.array(KeyOfPerson).describe('of those who signed, and of those who vouch for them, as they were made'),
  /** The audit trail as it stood before this record was issued. */
  ledger: z.strictObject({
    size: z.int().nonnegative(),
    root: Digest,
    checkpoint: z.string().nullable().describe('the signed head, as a C2SP tlog-checkpoint note'),
    proofs: z.array(InclusionProof).describe('of the entries that the record rests on'),
    witnessed: WitnessedHead.optional().describe('absent while no witness has a head'),
  }),
  /** The certificate that seals the file once it is rendered; null for a file that is not sealed. */
  seal: z.strictObject({ certificateSha256: Digest }).nullable(),
  earlier: z.array(EarlierRecord),
  /** The revision that this one replaces. */
  supersedes: z.strictObject({ number: z.string(), revision: z.int().positive(), enclosureSha256: Digest }).nullable(),
  changes: z.array(RecordChange).describe('what differs from the superseded revision, as codes and facts'),
  familyBefore: FamilyBefore.optional().describe('what the record of the lot before said of the family'),
  statedBefore: z
    .array(CitedStatement)
    .optional()
    .describe('for each characteristic the last reviewed statement of capability before the build, where there is one'),
  /** The case for whose institution this copy is meant; null for a whole record. */
  forCase: z.string().nullable(),
  withheldCases: z.array(z.string()).describe('cases of which the facts are left out of this copy'),
  /** Everything attached but the enclosure itself. */
  attachments: z.array(AttachmentRef),
});
export type Enclosure = z.infer<typeof Enclosure>;

/** What the issuer decides; the rest of the enclosure follows from what is attached. */
export type RecordIssue = Omit<
  Enclosure,
  | 'format'
  | 'record'
  | 'demo'
  | 'lot'
  | 'dossierSha256'
  | 'assessmentSha256'
  | 'template'
  | 'withheldCases'
  | 'attachments'
> & { readonly record: Omit<Enclosure['record'], 'final'> };

/** The issue of a record that exists, so that it can be rendered again. */
export function issueOf(enclosure: Enclosure): RecordIssue {
  const { format, record, demo, lot, dossierSha256, assessmentSha256, template, withheldCases, attachments, ...issue } =
    enclosure;
  const { final, ...named } = record;
  return { ...issue, record: named };
}

/** Names of what every record carries. */
export const ATTACHED = {
  dossier: 'dossier.json',
  assessment: 'assessment.json',
  enclosure: 'enclosure.json',
  template: 'record-template.yaml',
  family: 'family-in-words.txt',
  note: 'how-to-recompute.txt',
} as const;
