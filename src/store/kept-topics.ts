import { createHash } from 'node:crypto';
import type { LedgerDraft } from '../ledger/entry.js';
import type { NewRows } from './new-rows.js';

/**
 * What views that are kept of lots rest on, as topics. Whoever makes a view reads through `tracked`, which names a topic for
 * each question; each stored row touches the topics that would be answered otherwise. A topic is a whole number, so that
 * thousands of lots are found by an index of small rows; two that fall together touch a lot too many, and none too few.
 */
export type Topic = number;

/** Below are topics of entries, by their row number. */
const NAMED_FROM = 2 ** 48;

const hashed = (...words: readonly string[]): Topic =>
  NAMED_FROM + createHash('sha256').update(words.join('\n')).digest().readUIntBE(0, 6);

const ofKey = (kind: string, key: string): Topic => hashed('entry', kind, key);
const beginning = (what: string, kind: string, key: string): Topic =>
  hashed(what, kind, key.slice(0, key.indexOf(':') + 1));

export const TOPICS = {
  /** Revisions of an entry that is there, by the number of its row. */
  revisionsOf: (entryId: number): Topic => entryId * 2,
  /** What is tied to it. */
  tiedTo: (entryId: number): Topic => entryId * 2 + 1,
  /** That an entry comes to be. */
  entry: ofKey,
  kind: (kind: string): Topic => hashed('kind', kind),
  /** Entries of a kind whose keys begin up to a colon as this one does. */
  keysBeginning: (kind: string, start: string): Topic => beginning('keys', kind, start),
  results: (lot: string): Topic => hashed('results', lot),
  logs: (lot: string): Topic => hashed('logs', lot),
  lotFiles: (lot: string): Topic => hashed('lot-files', lot),
  assessments: (lot: string): Topic => hashed('assessments', lot),
  records: (lot: string): Topic => hashed('records', lot),
  eventsOf: (kind: string, key: string): Topic => hashed('events-of', kind, key),
  eventsOfType: (type: string): Topic => hashed('events-of-type', type),
  signedDigest: (digest: string): Topic => hashed('signed', digest),
  signed: (kind: string, key: string): Topic => hashed('signed-of', kind, key),
  signedBeginning: (kind: string, start: string): Topic => beginning('signed-beginning', kind, start),
} as const;

type Touching = { readonly [T in keyof NewRows]-?: (row: NonNullable<NewRows[T]>[number]) => readonly Topic[] };

const NOTHING = (): readonly Topic[] => [];

/** A table that is new says here what its rows touch. What is read by its own digest touches nothing: it never changes. */
const TOUCHING: Touching = {
  Entry: ({ kind, key }) => [ofKey(kind, key)],
  Revision: ({ entryId }) => [TOPICS.revisionsOf(Number(entryId))],
  Link: ({ toEntryId }) => (toEntryId == null ? [] : [TOPICS.tiedTo(Number(toEntryId))]),
  Evidence: NOTHING,
  Result: NOTHING,
  LogFile: ({ lot }) => [TOPICS.logs(lot)],
  LogSummary: NOTHING,
  Finding: NOTHING,
  Dossier: ({ lot }) => [TOPICS.lotFiles(lot)],
  Part: NOTHING,
  Assessment: ({ lot }) => [TOPICS.assessments(lot)],
  LotSummary: NOTHING,
  Record: ({ lot }) => [TOPICS.records(lot)],
  CapabilityStatement: NOTHING,
  Signature: NOTHING,
  SignatureSubject: ({ kind, key, digest }) => [
    TOPICS.signedDigest(digest),
    TOPICS.signed(kind, key),
    TOPICS.signedBeginning(kind, key),
  ],
  Event: ({ type, subjectKind, subjectKey }) => [TOPICS.eventsOf(subjectKind, subjectKey), TOPICS.eventsOfType(type)],
};

/** Topics that an entry of the ledger touches with its rows. */
export function touchedBy(draft: LedgerDraft, rows: NewRows<string>): Topic[] {
  const found: Topic[] = [];
  if (draft.type === 'revision-recorded') {
    found.push(TOPICS.kind(draft.kind), TOPICS.keysBeginning(draft.kind, draft.key));
  }
  // Thousands of values of one sheet are of one lot.
  if (draft.type === 'results-recorded') found.push(TOPICS.results(draft.lot));
  for (const [table, list] of Object.entries(rows) as [keyof NewRows, readonly never[]][]) {
    const touches = TOUCHING[table];
    if (touches !== NOTHING) for (const row of list) found.push(...touches(row));
  }
  return found;
}
