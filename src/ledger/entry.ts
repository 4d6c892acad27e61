import { z } from 'zod';
import { eventWords } from './event.js';
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

/** How a type of entry is told to people. */
interface Told<T> {
  /** The act, as it is searched for. */
  readonly words: string;
  /** The act of one entry, where it says more than `words`. */
  act?(entry: T): string;
  subject(entry: T): Subject;
  /** What the entry itself says, for acts that store nothing which people read field by field. */
  values?(entry: T): readonly (readonly [what: string, value: string])[];
}

/** @param facts what the entry says for whoever does not have the rows: readers of the trail, and offline checks. */
function entryType<T extends string, F extends z.ZodRawShape>(
  type: T,
  facts: F,
  told: Told<z.infer<z.ZodObject<F, z.core.$strict>>>,
) {
  return { schema: z.strictObject({ ...common, type: z.literal(type), ...facts }), told };
}

/** Every type of entry, in the one place that describes it. An entry holds digests, so that a body may be removed. */
const TYPES = {
  'folder-created': entryType(
    'folder-created',
    { program: z.string() },
    {
      words: 'data folder made',
      subject: () => plain('folder', 'data'),
      values: ({ program }) => [['program', program]],
    },
  ),
  'revision-recorded': entryType(
    'revision-recorded',
    {
      kind: z.string(),
      key: z.string(),
      revision: z.int().positive(),
      digest: Digest.describe('of its body'),
      reason: z.string().optional(),
    },
    {
      words: 'document recorded or changed',
      act: ({ revision }) => (revision === 1 ? 'recorded' : 'changed'),
      subject: ({ kind, key, revision }) => ({ kind, key, revision }),
    },
  ),
  'evidence-received': entryType(
    'evidence-received',
    { sha256: Digest, bytes: z.int().nonnegative(), fileName: z.string() },
    {
      words: 'file received',
      subject: ({ sha256 }) => plain('evidence', sha256),
      values: ({ fileName, bytes }) => [['file', `${fileName}, ${bytes} bytes`]],
    },
  ),
  'results-recorded': entryType(
    'results-recorded',
    { lot: z.string(), file: z.string(), rows: z.int().positive(), corrections: z.int().nonnegative() },
    {
      words: 'results recorded or corrected',
      subject: ({ lot }) => plain('results of lot', lot),
      values: ({ rows, file, corrections }) => [['values', `${rows} from ${file}, ${corrections} of them corrections`]],
    },
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
    {
      words: 'log scanned',
      subject: ({ build }) => plain('log of build', build),
      values: ({ findings, scanner }) => [
        ['findings', String(findings)],
        ['scanner', scanner],
      ],
    },
  ),
  'event-recorded': entryType(
    'event-recorded',
    { event: z.string(), subject: Named, reason: z.string().optional() },
    {
      words: 'event',
      act: ({ event }) => eventWords(event),
      subject: ({ subject }) => plain(subject.kind, subject.key),
    },
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
    {
      words: 'signed',
      act: ({ meaning }) => `signed: ${meaning}`,
      subject: ({ subject: { kind, key }, subjects }) =>
        plain(kind, subjects === 1 ? key : `${key} and ${subjects - 1} more`),
    },
  ),
  'dossier-frozen': entryType(
    'dossier-frozen',
    { lot: z.string(), digest: Digest },
    {
      words: 'lot file frozen',
      subject: ({ lot }) => plain('lot file of lot', lot),
      values: ({ digest }) => [['SHA-256', digest]],
    },
  ),
  'assessment-made': entryType(
    'assessment-made',
    { lot: z.string(), dossier: Digest, digest: Digest, program: z.string() },
    {
      words: 'assessed',
      subject: ({ lot }) => plain('assessment of lot', lot),
      values: ({ dossier, program }) => [
        ['lot file', dossier],
        ['program', program],
      ],
    },
  ),
  'lot-summarised': entryType(
    'lot-summarised',
    { lot: z.string(), dossier: Digest, rows: z.int().positive() },
    {
      words: 'summarised for trends',
      subject: ({ lot }) => plain('summaries of lot', lot),
      values: ({ rows }) => [['rows', String(rows)]],
    },
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
    {
      words: 'record issued',
      subject: ({ number, revision }) => ({ kind: 'record', key: number, revision }),
      values: ({ lot, fileSha256 }) => [
        ['lot', lot],
        ['SHA-256 of the file', fileSha256],
      ],
    },
  ),
};

type Types = typeof TYPES;
export type EntryType = keyof Types;
/** One change. */
export type LedgerEntry = { [T in EntryType]: z.infer<Types[T]['schema']> }[EntryType];

const SCHEMAS = Object.values(TYPES).map(({ schema }) => schema);
export const LedgerEntry: z.ZodType<LedgerEntry> = z.discriminatedUnion('type', SCHEMAS as [(typeof SCHEMAS)[number]]);

/** Every type, with the words by which it is searched for. */
export const ENTRY_WORDS: ReadonlyMap<EntryType, string> = new Map(
  Object.values(TYPES).map(({ schema, told }) => [schema.shape.type.value, told.words]),
);

type WithoutCommon<T> = T extends unknown ? Omit<T, keyof typeof common> : never;

/** An entry before it has its place, its time and its rows. */
export type LedgerDraft = WithoutCommon<LedgerEntry>;

const toldOf = ({ type }: LedgerEntry): Told<LedgerEntry> => TYPES[type].told as unknown as Told<LedgerEntry>;

/** What an entry is about: the same words on the page, in exports and where a check names what differs. */
export const subjectOfEntry = (entry: LedgerEntry): Subject => toldOf(entry).subject(entry);

export const actWords = (entry: LedgerEntry): string => toldOf(entry).act?.(entry) ?? toldOf(entry).words;

export const valuesOfEntry = (entry: LedgerEntry): readonly (readonly [what: string, value: string])[] =>
  toldOf(entry).values?.(entry) ?? [];
