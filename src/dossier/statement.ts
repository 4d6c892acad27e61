import { createPublicKey, verify } from 'node:crypto';
import { z } from 'zod';
import { canonicalJson, sha256Hex } from './canonical.js';

const Digest = z.string().regex(/^[0-9a-f]{64}$/);

/** What a signature means, in words that are printed beside the name (21 CFR 11.50). */
export const Meaning = z.enum(['performed', 'checked', 'reviewed', 'approved', 'decided', 'released', 'rejected']);
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

/** Exactly one thing that can be signed: a revision, a certificate, a qualification, a finding, a result set, a lot file. */
export const SignedSubject = z.strictObject({
  kind: z.string(),
  key: z.string(),
  revision: z.int().positive().nullable(),
  digest: Digest.describe('SHA-256 of the canonical JSON of what is signed; of a finding its identity'),
});
export type SignedSubject = z.infer<typeof SignedSubject>;

/** One act of one person. The installation key signs its canonical JSON (RFC 8785) as it stands. */
export const Statement = z.strictObject({
  format: z.literal(1),
  meaning: Meaning,
  subject: SignedSubject,
  /** What lay before the person beside the subject: the assessment, the list of corrections. */
  beside: z.array(z.strictObject({ kind: z.string(), digest: Digest })),
  /** Serials of implants, for what is decided unit by unit. */
  units: z.array(z.string()),
  /** For decisions: whether what was found is accepted. */
  outcome: z.enum(['accepted', 'rejected']).nullable(),
  reason: z.string().nullable(),
  person: z.strictObject({
    code: z.string(),
    name: z.string(),
    role: Role,
    /** Code of the person whose place a named deputy takes. */
    deputyFor: z.string().nullable(),
  }),
  at: z.iso.datetime(),
  offset: z.string().regex(/^[+-]\d{2}:\d{2}$/),
  installation: Digest.describe('fingerprint of the installation key'),
  demo: z.boolean(),
});
export type Statement = z.infer<typeof Statement>;

export const SignedStatement = z.strictObject({
  statement: Statement,
  digest: Digest.describe('SHA-256 of the canonical JSON of the statement'),
  signature: z.string().describe('Ed25519 (RFC 8032) over the same bytes, base64'),
});
export type SignedStatement = z.infer<typeof SignedStatement>;

/** Fingerprint of a public key: SHA-256 of its SubjectPublicKeyInfo in DER, as `openssl pkey -pubin -outform DER` gives it. */
export function fingerprintOf(publicKeyPem: string): string {
  return sha256Hex(createPublicKey(publicKeyPem).export({ type: 'spki', format: 'der' }));
}

/** Why a signed statement cannot be trusted under this public key, or undefined when it can. */
export function faultOfStatement(signed: SignedStatement, publicKeyPem: string): string | undefined {
  const text = canonicalJson(signed.statement);
  if (sha256Hex(text) !== signed.digest) return 'the statement is not the one whose digest it carries';
  if (signed.statement.installation !== fingerprintOf(publicKeyPem)) return 'it names another installation key';
  const bytes = Buffer.from(text, 'utf8');
  const valid = verify(null, bytes, createPublicKey(publicKeyPem), Buffer.from(signed.signature, 'base64'));
  return valid ? undefined : 'its signature does not belong to it';
}
