import { z } from 'zod';
import { RELEASE_STEPS } from '../dossier/release-step.js';
import { Role } from '../dossier/statement.js';
import { PASSKEY, PASSKEY_END, PASSKEY_USE } from './passkey.js';
import { PasswordLock, WrappedKey } from './password-lock.js';
import { LinkEndorsement, PERSON_KEY } from './person-keys.js';

const Digest = z.string().regex(/^[0-9a-f]{64}$/);
const Day = z.iso.date();
const AssessmentNamed = z.strictObject({ assessment: Digest, version: z.string().describe('of the rules') });
const Proposed = z.strictObject({ verdict: z.string(), releasable: z.boolean() });

/** What rules of another version say otherwise than those before them. */
const TURNED = {
  implants: z
    .array(z.strictObject({ serial: z.string(), before: Proposed, after: Proposed }))
    .min(1)
    .describe('those that came out otherwise'),
  checks: z
    .array(z.strictObject({ check: z.string(), before: z.string().nullable(), after: z.string().nullable() }))
    .describe('checks with another outcome; null where a version has no such check'),
  notAgain: z
    .strictObject({ dossier: Digest, why: z.string() })
    .optional()
    .describe('the lot file that was assessed before, where the later rules could not assess it, and why'),
};
export const TurnedVerdicts = z.strictObject(TURNED);

export const HoldCause = z.strictObject({ kind: z.string(), key: z.string(), revision: z.int().positive() });

/** Who acted, by their own key: over what `actText` of signed-acts.ts gives. */
const SIGNED = {
  signatures: z
    .array(LinkEndorsement)
    .min(1)
    .max(2)
    .optional()
    .describe('by the keys of those who acted, over the act'),
};

/** Who somebody is for a provider of sign-ins (OpenID Connect). */
const ELSEWHERE = {
  issuer: z.string().describe('address by which the provider calls itself'),
  subject: z.string().describe('what the provider calls the person'),
};

/**
 * What happened to something, beside the documents that files bring and the statements that people sign. Events are
 * appended and never changed; how things stand now follows from all of them in order.
 */
export const Event = z.discriminatedUnion('type', [
  // Keys of the installation.
  z.strictObject({
    type: z.literal('key-made'),
    purpose: z.enum(['installation', 'seal']),
    fingerprint: Digest,
    publicPem: z.string().describe('public key, or for a seal its certificate'),
    replaces: Digest.nullable(),
    endorsement: z
      .string()
      .optional()
      .describe('Ed25519 by the replaced key over the succession, base64; absent when the old key was lost'),
    acceptance: z.string().optional().describe('Ed25519 by the new key over the succession, base64'),
    persons: z.array(z.string()).length(2).optional().describe('who vouch for it after the loss of the old key'),
    signatures: z.array(LinkEndorsement).length(2).optional().describe('by the keys of these two over the succession'),
  }),
  // Accounts and authority.
  z.strictObject({
    type: z.literal('account-made'),
    person: z.string(),
    name: z.string(),
    identityCheckedOn: Day.nullable(),
    ...SIGNED,
  }),
  z.strictObject({ type: z.literal('account-closed'), person: z.string(), ...SIGNED }),
  z.strictObject({
    type: z.literal('invitation-made'),
    person: z.string(),
    tokenSha256: Digest,
    expiresAt: z.iso.datetime(),
    atMachine: z.literal(true).optional().describe('made by a command for an administrator who cannot sign in'),
    link: z.string().describe('public key of the link in PEM; whoever has the link has the other half'),
    replaces: Digest.nullable().describe('the key of the person that the next one replaces'),
    endorsements: z.array(LinkEndorsement),
  }),
  z.strictObject({
    type: z.literal('administrator-link-made'),
    tokenSha256: Digest,
    expiresAt: z.iso.datetime(),
  }),
  z.strictObject({
    type: z.literal('password-set'),
    person: z.string(),
    lock: PasswordLock,
    wrapped: WrappedKey,
    invitation: Digest.nullable(),
  }),
  z.strictObject({ type: z.literal('person-key-made'), ...PERSON_KEY }),
  z.strictObject({ type: z.literal('passkey-made'), ...PASSKEY }),
  z.strictObject({ type: z.literal('passkey-used'), ...PASSKEY_USE }),
  z.strictObject({ type: z.literal('passkey-ended'), ...PASSKEY_END }),
  z.strictObject({ type: z.literal('role-given'), person: z.string(), role: Role, ...SIGNED }),
  z.strictObject({ type: z.literal('role-taken'), person: z.string(), role: Role, ...SIGNED }),
  z.strictObject({
    type: z.literal('deputy-named'),
    person: z.string(),
    deputyFor: z.string(),
    role: Role,
    from: Day,
    to: Day,
    ...SIGNED,
  }),
  z.strictObject({ type: z.literal('deputy-ended'), person: z.string(), deputyFor: z.string(), role: Role, ...SIGNED }),
  z.strictObject({ type: z.literal('elsewhere-linked'), person: z.string(), ...ELSEWHERE, ...SIGNED }),
  z.strictObject({ type: z.literal('elsewhere-unlinked'), person: z.string(), ...ELSEWHERE, ...SIGNED }),
  // Programs of a person.
  z.strictObject({
    type: z.literal('intake-token-made'),
    person: z.string().describe('in whose name a program takes documents in with it'),
    name: z.string(),
    tokenSha256: Digest,
    expiresAt: z.iso.datetime(),
    ...SIGNED,
  }),
  z.strictObject({
    type: z.literal('intake-token-ended'),
    person: z.string(),
    name: z.string(),
    tokenSha256: Digest,
    ...SIGNED,
  }),
  // What was given out.
  z.strictObject({
    type: z.literal('exported'),
    what: z.enum([
      ...(['signed head', 'audit trail as CSV', 'audit trail as PDF'] as const),
      ...(['answer of a trace as PDF', 'report of a recall as PDF', 'answer of an impact as PDF'] as const),
      'answer to an auditor as PDF',
    ]),
    filter: z.record(z.string(), z.string()).describe('what was asked for; nothing stands for all'),
    lines: z.int().nonnegative().nullable(),
    sha256: Digest.describe('of the bytes that were given out'),
  }),
  // How far the file of a day is in which it is noted who read what.
  z.strictObject({
    type: z.literal('reads-noted'),
    file: z.string(),
    lines: z.int().nonnegative(),
    bytes: z.int().nonnegative(),
    sha256: Digest.describe('over these first bytes'),
    lost: z.int().nonnegative().describe('lines since the head before that could not be written, or are gone'),
    altered: z.int().positive().optional().describe('lines since the head before that the service did not write so'),
  }),
  // What a command at the machine was asked for that may show cases.
  z.strictObject({ type: z.literal('read-at-machine'), asked: z.string() }),
  // Heads that somebody outside keeps, and the second place of the anchor.
  z.strictObject({
    type: z.literal('second-place-named'),
    place: z.string().describe('file or address'),
    before: z.string().nullable().describe('the one in whose stead it is'),
  }),
  z.strictObject({
    type: z.literal('head-witnessed'),
    by: z.string().describe('folder in which it was left, or name of the authority that stamped it'),
    size: z.int().positive(),
    root: Digest,
    at: z.iso.datetime().describe('as the authority says; of a folder by the clock of this one'),
    token: z.string().nullable().describe('time stamp (RFC 3161) over the text of the head, base64'),
  }),
  // Acts that somebody tried and may not do.
  z.strictObject({
    type: z.literal('act-refused'),
    act: z.string(),
    subject: z.strictObject({ kind: z.string(), key: z.string() }),
    lot: z.string().nullable().describe('the lot whose reviewer must see it'),
    person: z.string(),
    why: z.string(),
  }),
  // States of things.
  z.strictObject({
    type: z.literal('hold-placed'),
    lot: z.string(),
    units: z.array(z.string()),
    cause: HoldCause.optional().describe('the document that came in, where the program placed the hold by itself'),
    ...SIGNED,
  }),
  z.strictObject({
    type: z.literal('release-conditions'),
    lot: z.string(),
    units: z.array(z.string()),
    step: z.enum(RELEASE_STEPS).describe('the release for which they were asked'),
    conditions: z
      .array(z.strictObject({ condition: z.string(), facts: z.record(z.string(), z.string()) }))
      .describe('what held on the day, beside what the lot file says'),
  }),
  z.strictObject({ type: z.literal('hold-lifted'), lot: z.string(), units: z.array(z.string()), ...SIGNED }),
  z.strictObject({
    type: z.literal('document-withdrawn'),
    kind: z.string(),
    key: z.string(),
    revision: z.int().positive(),
    ...SIGNED,
  }),
  z.strictObject({
    type: z.literal('release-revoked'),
    lot: z.string(),
    units: z.array(z.string()),
    step: z.enum(RELEASE_STEPS).describe('the release that is revoked, the last that stood'),
    ...SIGNED,
  }),
  // Verdicts that came out otherwise by rules of another version, on the same lot file.
  z.strictObject({
    type: z.literal('verdicts-changed'),
    lot: z.string(),
    dossier: Digest.describe('the lot file that was assessed both times, or the later time only'),
    before: AssessmentNamed,
    after: AssessmentNamed,
    ...TURNED,
  }),
  z.strictObject({
    type: z.literal('verdict-changes-seen'),
    lot: z.string(),
    entries: z.array(z.int().positive()).min(1).describe('entries of the audit trail that record the changes'),
    ...SIGNED,
  }),
  // Ways to the raw rows of logs.
  z.strictObject({
    type: z.literal('archive-made'),
    evidence: Digest.describe('the log as received'),
    sha256: Digest.describe('of the index of its archive, which names the SHA-256 of each piece'),
  }),
  // Custody.
  z.strictObject({
    type: z.literal('backup-made'),
    file: z.string(),
    manifestSha256: Digest,
    files: z.int().nonnegative(),
    bytes: z.int().nonnegative(),
    withKeys: z.boolean(),
    ledgerSize: z.int().nonnegative().describe('entries of the audit trail that the backup holds'),
    damaged: z.int().nonnegative().describe('files that were not as received when they were copied'),
  }),
  z.strictObject({
    type: z.literal('folder-restored'),
    manifestSha256: Digest,
    madeAt: z.iso.datetime(),
    ledgerSize: z.int().nonnegative(),
    withKeys: z.boolean(),
  }),
  z.strictObject({
    type: z.literal('anchor-renewed'),
    persons: z.array(z.string()).length(2),
    before: z
      .strictObject({ size: z.int().nonnegative(), root: Digest })
      .nullable()
      .describe('the head that the anchor held; null when there was none that could be read'),
    ledgerSize: z.int().nonnegative().describe('entries of the audit trail that was accepted'),
    root: Digest.describe('over these entries'),
    leaves: z.string().optional().describe('address that was the second place of the anchor, and is none any more'),
    signatures: z
      .array(LinkEndorsement)
      .length(2)
      .optional()
      .describe(
        'by the keys of these two, over "what" ("anchor-renewed"), persons, before, ledgerSize, root and leaves',
      ),
  }),
  z.strictObject({
    type: z.literal('integrity-checked'),
    files: z.int().nonnegative(),
    bytes: z.int().nonnegative(),
    unreferenced: z.int().nonnegative().describe('files that nothing names'),
    faultCount: z.int().nonnegative(),
    faults: z
      .array(z.strictObject({ what: z.string(), name: z.string(), says: z.string() }))
      .describe('the first of them'),
  }),
  z.strictObject({
    type: z.literal('evidence-redacted'),
    sha256: Digest,
    persons: z.array(z.string()).length(2),
    ...SIGNED,
  }),
  z.strictObject({ type: z.literal('legal-hold-placed'), lot: z.string(), ...SIGNED }),
  z.strictObject({ type: z.literal('legal-hold-lifted'), lot: z.string(), ...SIGNED }),
  z.strictObject({
    type: z.literal('self-check-made'),
    program: z.string(),
    node: z.string(),
    passed: z.boolean(),
    failed: z.array(z.string()),
    report: Digest.describe('SHA-256 of the report, which is kept as evidence'),
    signature: z.string().describe('Ed25519 of the installation key over the report, base64'),
  }),
]);
export type Event = z.infer<typeof Event>;

/** Events from which accounts follow: who may sign in, by which password, and in which roles. */
export const ACCOUNT_EVENTS = [
  'account-made',
  'account-closed',
  'invitation-made',
  'password-set',
  'role-given',
  'role-taken',
  'deputy-named',
  'deputy-ended',
  'elsewhere-linked',
  'elsewhere-unlinked',
] as const satisfies readonly Event['type'][];

/** What an event is about, for the audit trail and for reading back. */
export function subjectOfEvent(event: Event): { kind: string; key: string } {
  switch (event.type) {
    case 'key-made':
      return { kind: 'key', key: event.fingerprint };
    case 'administrator-link-made':
      return { kind: 'account', key: 'first administrator' };
    case 'backup-made':
    case 'folder-restored':
    case 'anchor-renewed':
    case 'integrity-checked':
      return { kind: 'folder', key: 'data' };
    case 'exported':
      return { kind: 'audit trail', key: event.what };
    case 'head-witnessed':
      return { kind: 'audit trail', key: 'signed head' };
    case 'read-at-machine':
      return { kind: 'audit trail', key: 'reads' };
    case 'reads-noted':
      return { kind: 'audit trail', key: event.file };
    case 'second-place-named':
      return { kind: 'audit trail', key: event.place };
    case 'evidence-redacted':
      return { kind: 'evidence', key: event.sha256 };
    case 'archive-made':
      return { kind: 'evidence', key: event.evidence };
    case 'passkey-used':
      return { kind: 'passkey', key: event.credential };
    case 'self-check-made':
      return { kind: 'program', key: event.program };
    case 'legal-hold-placed':
    case 'legal-hold-lifted':
    case 'hold-placed':
    case 'release-conditions':
    case 'hold-lifted':
    case 'release-revoked':
    case 'verdicts-changed':
    case 'verdict-changes-seen':
      return { kind: 'lot', key: event.lot };
    case 'act-refused':
      return event.lot === null ? event.subject : { kind: 'lot', key: event.lot };
    case 'document-withdrawn':
      return { kind: event.kind, key: event.key };
    default:
      return { kind: 'account', key: event.person };
  }
}

/** An event with when, by whom and why it was recorded. */
export interface RecordedEvent {
  readonly event: Event;
  readonly at: string;
  readonly offset: string;
  readonly actor: string;
  readonly reason: string | null;
  readonly ledgerSeq: number;
}
