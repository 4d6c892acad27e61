import { z } from 'zod';
import { laterForm } from '../base/later-form.js';
import { RecordedRows } from './recorded-rows.js';
import { plainSubject as plain, type Subject } from './subject.js';

const Digest = z.string().regex(/^[0-9a-f]{64}$/);

const Named = z.strictObject({ kind: z.string(), key: z.string() });

/** What every entry says: its place from 1, when, where in the day of the actor, who, and which rows it recorded. */
const common = {
  version: z.literal(1),
  seq: z.int().positive(),
  at: z.iso.datetime(),
  offset: z.string().regex(/^[+-]\d{2}:\d{2}$/),
  actor: z.string().min(1),
  /** Present in demo folders only, so that no demo entry passes for a real one. */
  demo: z.literal(true).optional(),
  tables: RecordedRows,
};

/**
 * @param facts what the entry says for whoever does not have the rows: readers of the trail, and offline checks.
 * @param subject what it is about.
 */
function entryType<T extends string, F extends z.ZodRawShape>(
  type: T,
  facts: F,
  subject: (entry: z.infer<z.ZodObject<F, z.core.$strict>>) => Subject,
) {
  return { schema: z.strictObject({ ...common, type: z.literal(type), ...facts }), subject };
}

/**
 * Every type of entry, in the one place that describes it; its words stand in `src/report/phrases/trail-acts.ts`. An entry holds
 * digests, so that a body may be removed.
 */
const TYPES = {
  'folder-created': entryType('folder-created', { program: z.string() }, () => plain('folder', 'data')),
  'revision-recorded': entryType(
    'revision-recorded',
    {
      kind: z.string(),
      key: z.string(),
      revision: z.int().positive(),
      digest: Digest.describe('of its body'),
      reason: z.string().optional(),
    },
    ({ kind, key, revision }) => ({ kind, key, revision }),
  ),
  'evidence-received': entryType(
    'evidence-received',
    { sha256: Digest, bytes: z.int().nonnegative(), fileName: z.string() },
    ({ sha256 }) => plain('evidence', sha256),
  ),
  'results-recorded': entryType(
    'results-recorded',
    { lot: z.string(), file: z.string(), rows: z.int().positive(), corrections: z.int().nonnegative() },
    ({ lot }) => plain('results of lot', lot),
  ),
  'log-scanned': entryType(
    'log-scanned',
    {
      lot: z.string(),
      build: z.string(),
      evidence: Digest,
      planSha256: Digest,
      scanner: z.string(),
      findings: z.int().nonnegative(),
    },
    ({ build }) => plain('log of build', build),
  ),
  'event-recorded': entryType(
    'event-recorded',
    { event: z.string(), subject: Named, reason: z.string().optional() },
    ({ subject: { kind, key } }) => ({ kind, key, revision: null }),
  ),
  'statement-signed': entryType(
    'statement-signed',
    {
      meaning: z.string(),
      subject: Named.describe('the first thing that the statement covers'),
      subjects: z.int().positive().describe('how many it covers; the statement names each by its digest'),
      person: z.string(),
      digest: Digest.describe('of the signed statement'),
    },
    ({ subject: { kind, key }, subjects }) => ({
      kind,
      key,
      revision: null,
      ...(subjects === 1 ? {} : { others: subjects - 1 }),
    }),
  ),
  'dossier-frozen': entryType('dossier-frozen', { lot: z.string(), digest: Digest }, ({ lot }) =>
    plain('lot file of lot', lot),
  ),
  'assessment-made': entryType(
    'assessment-made',
    { lot: z.string(), dossier: Digest, digest: Digest, program: z.string() },
    ({ lot }) => plain('assessment of lot', lot),
  ),
  'lot-summarised': entryType(
    'lot-summarised',
    { lot: z.string(), dossier: Digest, rows: z.int().positive() },
    ({ lot }) => plain('summaries of lot', lot),
  ),
  'capability-stated': entryType(
    'capability-stated',
    { family: z.string(), characteristic: z.string(), number: z.int().positive(), digest: Digest },
    ({ family, characteristic }) => plain('capability of', `${family} ${characteristic}`),
  ),
  'record-issued': entryType(
    'record-issued',
    {
      number: z.string(),
      revision: z.int().positive(),
      lot: z.string(),
      dossier: Digest,
      enclosure: Digest,
      fileSha256: Digest,
    },
    ({ number, revision }) => ({ kind: 'record', key: number, revision }),
  ),
};

type Types = typeof TYPES;
export type EntryType = keyof Types;
/** One change. */
export type LedgerEntry = { [T in EntryType]: z.infer<Types[T]['schema']> }[EntryType];

const SCHEMAS = Object.values(TYPES).map(({ schema }) => schema);
export const LedgerEntry: z.ZodType<LedgerEntry> = z.discriminatedUnion('type', SCHEMAS as [(typeof SCHEMAS)[number]]);

/** Every type. */
export const ENTRY_TYPES = Object.keys(TYPES) as readonly EntryType[];

/** What is known of an entry of whatever type: all of them say this. */
const AnyEntry = z.looseObject({ ...common, type: z.string() });

/** Whether this version knows the type of an entry, and so all that it says. */
export const isKnownType = ({ type }: { readonly type: string }): boolean => Object.hasOwn(TYPES, type);

/**
 * Reads an entry. One with a type or with fields that only a later version knows is read as far as this one knows it: it
 * counts, is hashed and is named like any other.
 * @throws ZodError when it is none.
 */
export function readEntry(value: unknown): LedgerEntry {
  const parsed = LedgerEntry.safeParse(value);
  if (parsed.success) return parsed.data;
  if (laterForm(parsed.error, value) === undefined) throw parsed.error;
  return AnyEntry.parse(value) as unknown as LedgerEntry;
}

type WithoutCommon<T> = T extends unknown ? Omit<T, keyof typeof common> : never;

/** An entry before it has its place, its time and its rows. */
export type LedgerDraft = WithoutCommon<LedgerEntry>;

/** What an entry is about. */
export const subjectOfEntry = (entry: LedgerEntry): Subject =>
  isKnownType(entry)
    ? (TYPES[entry.type].subject as (entry: LedgerEntry) => Subject)(entry)
    : plain('entry', String((entry as { seq: number }).seq));
