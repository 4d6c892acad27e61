import { z } from 'zod';
import { canonicalJson, sha256Hex } from './canonical.js';
import { MEANINGS } from './meaning.js';
import { fingerprintOf, hasSignedText } from './public-key.js';
import { RELEASE_STEPS } from './release-step.js';

const Digest = z.string().regex(/^[0-9a-f]{64}$/);

export const Meaning = z.enum(MEANINGS);
export type Meaning = z.infer<typeof Meaning>;

/** Roles that an administrator gives on the page. */
export const Role = z.enum([
  'operator',
  'analyst',
  'case designer',
  'process engineer',
  'quality engineer',
  'releaser',
  'regulatory',
  'administrator',
  'auditor',
]);
export type Role = z.infer<typeof Role>;

/** A role in which a person acts on a day: their own, or that of the person whose deputy they are. */
export interface ActingRole {
  readonly role: Role;
  readonly deputyFor: string | null;
}

/** Exactly one thing that can be signed: a revision, a certificate, a qualification, a finding, a result set, a lot file. */
export const SignedSubject = z.strictObject({
  kind: z.string(),
  key: z.string(),
  revision: z.int().positive().nullable(),
  digest: Digest.describe('SHA-256 of the canonical JSON of what is signed; of a finding its identity'),
});
export type SignedSubject = z.infer<typeof SignedSubject>;

/** Kind of a thing as it counts in a set: log findings are of one kind, told alone or many alike as one. */
export const kindInSet = (kind: string): string => (kind === 'log finding group' ? 'log finding' : kind);

const isOneSet = (subjects: readonly SignedSubject[]): boolean =>
  new Set(subjects.map(({ kind }) => kindInSet(kind))).size === 1 &&
  new Set(subjects.map(({ digest }) => digest)).size === subjects.length;

/**
 * One act of one person: a listed set, one meaning, one rationale, one proof of identity. The key of the person and that
 * of the installation sign its canonical JSON (RFC 8785) as it stands.
 */
export const Statement = z
  .strictObject({
    format: z.literal(1),
    meaning: Meaning,
    /** Everything that the act covers, in the order of the keys. */
    subjects: z.array(SignedSubject).refine(isOneSet, 'at least one thing, all of one kind, none named twice'),
    /** What lay before the person beside the subjects: the assessment, the list of corrections. */
    beside: z.array(z.strictObject({ kind: z.string(), digest: Digest })),
    /** Serials of implants, for what is decided unit by unit. */
    units: z.array(z.string()),
    /** What a release is for; null for every other act. */
    step: z.enum(RELEASE_STEPS).nullable(),
    /** For decisions: whether what was found is accepted. */
    outcome: z.enum(['accepted', 'rejected']).nullable(),
    reason: z.string().nullable(),
    person: z.strictObject({
      code: z.string(),
      name: z.string(),
      role: Role,
      /** Code of the person whose place a named deputy takes. */
      deputyFor: z.string().nullable(),
      key: Digest.describe('fingerprint of the key of the person'),
      /** So that everything which shows a statement shows it too. */
      recoveredBy: z
        .array(z.string())
        .nullable()
        .describe('who vouch for the key, where it stands in the place of a lost one'),
    }),
    at: z.iso.datetime(),
    offset: z.string().regex(/^[+-]\d{2}:\d{2}$/),
    installation: Digest.describe('fingerprint of the installation key'),
    demo: z.boolean(),
  })
  .refine(({ meaning, step }) => (meaning === 'released') === (step !== null), {
    path: ['step'],
    message: 'a release names its step, and nothing else does',
  });
export type Statement = z.infer<typeof Statement>;

/** What a statement on exactly one thing is on, such as one on a lot file. */
export const soleSubject = ({ subjects }: Pick<Statement, 'subjects'>): SignedSubject => subjects[0]!;

/** Kind and key of the first thing that a statement covers: under it the audit trail files the whole act. */
export function namedFirst({ subjects }: Pick<Statement, 'subjects'>): { kind: string; key: string } {
  const { kind, key } = subjects[0]!;
  return { kind, key };
}

/** Whether a statement names this content among what it covers. */
export const covers = ({ subjects }: Pick<Statement, 'subjects'>, digest: string): boolean =>
  subjects.some((subject) => subject.digest === digest);

/** Digest of what lay before a signer beside the things signed; undefined where nothing of that kind did. */
export const besideOf = ({ beside }: Pick<Statement, 'beside'>, kind: string): string | undefined =>
  beside.find((one) => one.kind === kind)?.digest;

const MOST_NAMED = 3;

/** Names of the things that a statement covers, as far as one line takes them: `a, b, c and 97 more`. */
export function namesText(names: readonly string[]): string {
  const more = names.length - MOST_NAMED;
  return `${names.slice(0, MOST_NAMED).join(', ')}${more > 0 ? ` and ${more} more` : ''}`;
}

/** Statements by the digest of each thing that they cover. */
export function byDigest<T>(signed: readonly T[], statementOf: (one: T) => Statement): Map<string, T[]> {
  const found = new Map<string, T[]>();
  for (const one of signed) {
    for (const { digest } of statementOf(one).subjects) {
      const others = found.get(digest);
      if (others) others.push(one);
      else found.set(digest, [one]);
    }
  }
  return found;
}

export const SignedStatement = z.strictObject({
  statement: Statement,
  digest: Digest.describe('SHA-256 of the canonical JSON of the statement'),
  personSignature: z.string().describe('Ed25519 (RFC 8032) by the key of the person over the same bytes, base64'),
  signature: z.string().describe('the same by the installation key'),
});
export type SignedStatement = z.infer<typeof SignedStatement>;

/** Why the signature of the installation does not hold. */
export type StatementFault = 'another digest' | 'another installation' | 'not its signature';

/** Why the installation did not sign a statement with this public key, or undefined when it did. */
export function faultOfStatement(signed: SignedStatement, publicKeyPem: string): StatementFault | undefined {
  const text = canonicalJson(signed.statement);
  if (sha256Hex(text) !== signed.digest) return 'another digest';
  if (signed.statement.installation !== fingerprintOf(publicKeyPem)) return 'another installation';
  return hasSignedText(publicKeyPem, text, signed.signature) ? undefined : 'not its signature';
}
