import { z } from 'zod';

const Digest = z.string().regex(/^[0-9a-f]{64}$/);

const Named = z.strictObject({ kind: z.string(), key: z.string() });

/** What every entry says: its place from 1, when, where in the day of the actor, and who. */
const common = {
  version: z.literal(1),
  seq: z.int().positive(),
  at: z.iso.datetime(),
  offset: z.string().regex(/^[+-]\d{2}:\d{2}$/),
  actor: z.string().min(1),
  /** Present in demo folders only, so that no demo entry passes for a real one. */
  demo: z.literal(true).optional(),
};

/** One change. Entries hold digests, not bodies: a withheld or removed body leaves the ledger valid. */
export const LedgerEntry = z.discriminatedUnion('type', [
  z.strictObject({ ...common, type: z.literal('folder-created'), program: z.string() }),
  z.strictObject({
    ...common,
    type: z.literal('revision-recorded'),
    kind: z.string(),
    key: z.string(),
    revision: z.int().positive(),
    digest: Digest,
    ties: Digest.describe('of the canonical JSON of its name and its links'),
    reason: z.string().optional(),
  }),
  z.strictObject({
    ...common,
    type: z.literal('evidence-received'),
    sha256: Digest,
    bytes: z.int().nonnegative(),
    fileName: z.string(),
  }),
  z.strictObject({
    ...common,
    type: z.literal('results-recorded'),
    lot: z.string(),
    file: z.string(),
    rows: z.int().nonnegative(),
    corrections: z.int().nonnegative(),
    digest: Digest.describe('of the rows as canonical JSON: lists in the order of the columns of store/sql/bulk.ts'),
  }),
  z.strictObject({
    ...common,
    type: z.literal('log-scanned'),
    lot: z.string(),
    build: z.string(),
    evidence: Digest,
    planSha256: Digest,
    scanner: z.string(),
    findings: z.int().nonnegative(),
    digest: Digest.describe('of the canonical JSON of facts, findings, outlines and summaries'),
  }),
  z.strictObject({
    ...common,
    type: z.literal('event-recorded'),
    event: z.string(),
    subject: Named,
    digest: Digest.describe('of the canonical JSON of the event'),
    reason: z.string().optional(),
  }),
  z.strictObject({
    ...common,
    type: z.literal('statement-signed'),
    meaning: z.string(),
    subject: Named.describe('the first thing that the statement covers'),
    subjects: z.int().positive().describe('how many it covers; the statement names each by its digest'),
    person: z.string(),
    digest: Digest.describe('of the signed statement'),
  }),
  z.strictObject({ ...common, type: z.literal('dossier-frozen'), lot: z.string(), digest: Digest }),
  z.strictObject({
    ...common,
    type: z.literal('assessment-made'),
    lot: z.string(),
    dossier: Digest,
    digest: Digest,
    program: z.string(),
  }),
  z.strictObject({
    ...common,
    type: z.literal('lot-summarised'),
    lot: z.string(),
    dossier: Digest,
    rows: z.int().positive(),
    digest: Digest.describe('of the canonical JSON of the rows that trends read'),
  }),
  z.strictObject({
    ...common,
    type: z.literal('record-issued'),
    number: z.string(),
    revision: z.int().positive(),
    lot: z.string(),
    dossier: Digest,
    enclosure: Digest,
    fileSha256: Digest,
  }),
]);
export type LedgerEntry = z.infer<typeof LedgerEntry>;

type WithoutCommon<T> = T extends unknown ? Omit<T, keyof typeof common> : never;

/** An entry before it has its place and time. */
export type LedgerDraft = WithoutCommon<LedgerEntry>;
