import type { Direction, TieName } from '../kinds/ties.js';
import type { TrailFilter } from '../ledger/trail.js';
import type { HistorySums, SummedRow } from './history-sums.js';
import type { Instruction, Listed, Question } from './instruction.js';
import type { PlainQuestions } from './plain-questions.js';

/** Texts from `from` up to, and without, `before`. */
type Bounds = [from: string, before: string];

/** A revision with its entry. */
export interface RevisionRow {
  readonly kind: string;
  readonly key: string;
  readonly revision: number;
  readonly name: string;
  readonly digest: string;
  readonly recordedAt: string;
  readonly actor: string;
  readonly reason: string | null;
  readonly ledgerSeq: number;
  /** Canonical JSON of the document. */
  readonly text: string;
}

export interface NamedEvidence {
  readonly kind: string;
  readonly key: string;
  readonly revision: number;
  readonly name: string;
  readonly sha256: string;
  /** As the bytes were called when they first came: perhaps by another document. */
  readonly fileName: string;
  readonly bytes: number;
}

export interface SignatureRow {
  readonly statement: string;
  readonly digest: string;
  readonly personSignature: string;
  readonly signature: string;
  readonly ledgerSeq: number;
}

interface CurrentRow {
  readonly lot: string;
  readonly dossierDigest: string;
  readonly digest: string;
  /** Of the rules that assessed. */
  readonly version: string;
}

export interface AssessedUnitsRow extends CurrentRow {
  /** JSON. */
  readonly units: string | null;
  /** JSON: code and findings of each check that has some. */
  readonly checks: string;
}

export interface WholeAssessmentRow extends CurrentRow {
  readonly body: string;
}

/**
 * Entries that a walk reached, column by column, with their latest names: none where nothing is known but that something
 * names it. One that is reached in two ways may come twice.
 */
export type EntryColumns = [
  ...[ids: number[], kinds: string[], keys: string[]],
  ...[names: (string | null)[], revisions: (number | null)[]],
];

/** Ties that were walked over, column by column. */
export type TieColumns = [
  ...[sources: number[], targets: number[], names: TieName[]],
  ...[massesG: (string | null)[], counts: (number | null)[], revisions: (number | null)[]],
];

/** The last row of a family and characteristic. */
export interface HistoryHeadRow {
  readonly characteristic: string;
  readonly position: number;
  readonly digest: string;
  readonly ledgerSeq: number;
}

/** Sums over a period: to be counted, early, or of a day of which only some is, with its lots. */
export interface HistoryPart {
  readonly part: 'counted' | 'early' | 'some';
  readonly lots: readonly string[];
  readonly sums: HistorySums;
}

/** Values of a lot, build and context in one characteristic: what is summed, and the single ones. */
export interface HistoryRow extends Omit<SummedRow, 'lot' | 'takenOutCount'> {
  readonly position: number;
  /** JSON, as the next one. */
  readonly values: string;
  readonly takenOut: string;
  readonly beside: string;
}

/** A row, and of which lot. */
export type LotRow = HistoryRow & { readonly lot: string };

type WantedRow = LotRow & { readonly want: number | bigint };

/** Which rows of a family and characteristic are wanted. */
export interface HistoryWant {
  readonly family: string;
  readonly characteristic: string;
  /** As of this entry of the ledger. */
  readonly seq: number;
  /** Of builds that were closed before, and not before another moment where one is named; in UTC. */
  readonly before: string;
  readonly since?: string | undefined;
  /** Not of this lot. */
  readonly except?: string | undefined;
  /** Days of closing, both included. */
  readonly from: string;
  readonly to: string;
  /** Any where it is left out. */
  readonly contexts?: readonly string[] | undefined;
  /** With single values. */
  readonly values?: boolean;
  /** With what stands beside them, and rows of which nothing else is there. */
  readonly beside?: boolean;
}

/** Something that an identifier leads to, what of it that is, and how it reads there as a whole. */
export interface IdentifiedRow {
  readonly as:
    | 'digest of a revision'
    | 'digest of a signed act'
    | 'digest of a lot file'
    | 'digest of an assessment'
    | 'log finding'
    | 'file'
    | 'record'
    | 'program that assessed';
  readonly kind: string;
  readonly key: string;
  readonly detail: string;
  readonly ledgerSeq: number;
}

/** What is kept of a lot, in one view. */
export interface KeptRow {
  readonly lot: string;
  readonly version: string;
  readonly madeAt: number | bigint;
  readonly touchedAt: number | bigint;
  readonly closed: number | bigint | boolean;
  readonly asks: number | bigint | boolean;
  readonly awaiting: number | bigint | boolean;
  readonly neededBy: string;
  /** JSON. */
  readonly body: string;
}

/** How many entries a change left, and the head that it signed over them. */
interface LeftRow {
  readonly size: number | bigint;
  readonly head: string | null;
}

/** Which programs can read what is stored. */
interface GenerationRow {
  readonly number: number | bigint;
  readonly version: string;
}

/** What the repositories ask of an engine. Each engine answers in its own words, and gives the same rows. */
export interface Questions extends PlainQuestions {
  /** Revisions of an entry up to a number, the latest first, and no more than so many. */
  readonly REVISIONS_OF: Question<[kind: string, key: string, upTo: number, most: number], RevisionRow>;
  /** Every revision of entries, each asked for by a list of kind and key; those of one entry oldest first. */
  readonly REVISIONS_OF_ENTRIES: Question<[entries: Listed], RevisionRow>;
  /** Latest time of the last signature and of the entries behind it: no signature has one before those that stand before it. */
  readonly LATEST_TIME: Question<[], { readonly at: string | null }>;
  /** The latest revision of each entry of a kind, in the order of their keys. */
  readonly LATEST_OF_KIND: Question<[kind: string], RevisionRow>;
  /** The same of several kinds, one kind after the other. */
  readonly LATEST_OF_KINDS: Question<[kinds: Listed], RevisionRow>;
  /** Every revision of the entries of a kind, entries in the order of recording. */
  readonly ALL_OF_KIND: Question<[kind: string], RevisionRow>;
  /** The same for keys within bounds. */
  readonly ALL_BETWEEN: Question<[kind: string, ...Bounds], RevisionRow>;
  /** The latest revisions that are tied to an entry by a name. */
  readonly LATEST_TIED_TO_ANY: Question<[kind: string, keys: Listed, tie: string], RevisionRow>;
  readonly LATEST_TIED_TO: Question<[kind: string, key: string, tie: string], RevisionRow>;
  /** Every revision of entries of some kinds of which one is tied to an entry by a name; those of one entry oldest first. */
  readonly ALL_TIED_TO: Question<[kinds: Listed, kind: string, key: string, tie: string], RevisionRow>;
  /** Keys of entries of a kind to which the latest revision of an entry of some kinds is tied by a name. */
  readonly KEYS_TIED_TO: Question<[kind: string, tie: string, kinds: Listed], { readonly key: string }>;
  /** The latest revisions of entries of some kinds that have one of the keys, or that are tied to one that has. */
  readonly LATEST_AROUND: Question<[kinds: Listed, keys: Listed], RevisionRow>;
  /** What takes mass or pieces from an entry, a row for each tie. */
  readonly TAKERS: Question<
    [kind: string, key: string],
    Pick<RevisionRow, 'kind' | 'key' | 'digest' | 'text'> & {
      readonly massG: string | null;
      readonly count: number | null;
    }
  >;
  /** Every revision of an entry and of all that its current one and theirs contain, entries in no order, oldest first. */
  readonly CONTAINED_IN: Question<[kind: string, key: string], RevisionRow>;
  /** Entries with a key, and those that end in it as a heat does: the second value is the key behind a colon. */
  readonly ENTRIES_NAMED: Question<
    [key: string, ending: string],
    { readonly id: number; readonly kind: string; readonly key: string; readonly ledgerSeq: number }
  >;
  /** Entries whose keys begin or end as a text does, or contain it, whatever their capitals; not too many. */
  readonly ENTRIES_LIKE: Question<[text: string], { readonly kind: string; readonly key: string }>;
  /** Current documents of some kinds that hold a text, which is given as it stands in JSON. */
  readonly ENTRIES_HOLDING: Question<
    [kinds: Listed, text: string],
    Pick<RevisionRow, 'kind' | 'key' | 'digest' | 'text' | 'ledgerSeq'>
  >;
  /** What bears a text as a name, or as the beginning of a digest: then the bounds of these, else empty ones. */
  readonly IDENTIFIED_BY: Question<[text: string, ...Bounds], IdentifiedRow>;
  /** The latest revisions of entries by their numbers. */
  readonly LATEST_OF_IDS: Question<
    [ids: Listed],
    Pick<RevisionRow, 'kind' | 'key' | 'digest' | 'text'> & { readonly id: number | bigint }
  >;
  /** Evidence that revisions name, each of them a list of kind, key and number; in this order. */
  readonly EVIDENCE_NAMED_BY: Question<[revisions: Listed], NamedEvidence>;
  /** Entries of which a revision names a file. */
  readonly ENTRIES_NAMING_EVIDENCE: Question<[sha256: string], { readonly id: number | bigint }>;
  /**
   * Everything that entries go back to, or that they went into, themselves included, as the table of ties says; and the ties
   * that were walked over, along them and against them. One row of JSON texts, `EntryColumns` and twice `TieColumns`.
   */
  reachOf(
    direction: Direction,
    asOf?: number,
  ): Question<[entries: Listed], Record<'entries' | 'along' | 'against', string>>;
  /**
   * Ties by which superseded revisions of entries led in a direction, from them or to them, and the latest ones do not any more.
   */
  earlierTies(
    direction: Direction,
    asOf?: number,
  ): Question<
    [entries: Listed],
    {
      readonly near: number | bigint;
      readonly far: number | bigint;
      readonly source: number | bigint;
      readonly name: TieName;
      readonly revision: number | bigint;
      readonly kind: string;
      readonly key: string;
    }
  >;
  /** Every revision that an actor took in, the latest first; the bounds are those of the same actor through accounts. */
  readonly REVISIONS_BY: Question<
    [actor: string, from: string, below: string],
    Pick<RevisionRow, 'kind' | 'key' | 'revision' | 'name' | 'recordedAt'>
  >;

  /** Which entry of the audit trail recorded revisions, each of them a list of kind, key and number; those on record alone. */
  readonly RECORDED_REVISIONS: Question<
    [revisions: Listed],
    Pick<RevisionRow, 'kind' | 'key'> & { readonly revision: number | bigint; readonly seq: number | bigint }
  >;

  readonly RESULTS_AT: Question<
    [ids: Listed],
    { readonly id: number; readonly reportedValue: string; readonly reportedUcum: string }
  >;

  /** Heads of characteristics of a family as of an entry. */
  readonly HISTORY_HEADS: Question<[family: string, seq: number, characteristics: Listed], HistoryHeadRow>;
  /**
   * Heads of characteristics that a family knows, and of all that began before a moment a JSON list of `HistoryPart`: what
   * was built from a day on counts, all where it is empty. Of a lot nothing is counted.
   */
  readonly HISTORY_SUMS: Question<
    [family: string, before: string, from: string, except: string, characteristics: Listed],
    HistoryHeadRow & { readonly nodes: string }
  >;
  /** As of an entry, the rows in whose place no other stands, of each lot of a list of family, characteristic and lot. */
  readonly HISTORY_OF_LOTS: Question<
    [seq: number, lots: Listed],
    SummedRow & { readonly family: string; readonly characteristic: string }
  >;
  /** For each of a list of family, characteristic and day a JSON list of `HistoryNode`: beside the day, its month and year. */
  readonly HISTORY_BESIDE: Question<[days: Listed], { readonly want: number | bigint; readonly nodes: string }>;
  /** The last rows of each `HistoryWant`, in build order, and by which of them they were wanted. */
  readonly HISTORY_ROWS: Question<[most: number, wants: Listed], WantedRow>;
  /** The last ones of which something was taken out, whatever their context. */
  readonly LOTS_WITHOUT_HISTORY: Question<[family: string, characteristic: string], { readonly lot: string }>;
  readonly HISTORY_TAKEN_OUT: Question<[most: number, wants: Listed], WantedRow>;
  /** JSON list of the `lots` of each `HistoryWant` with values that it asks for. */
  readonly HISTORY_LOTS_IN: Question<[wants: Listed], { readonly want: number | bigint; readonly lots: string }>;
  /** Rows of a lot in whose place no other stands. */
  readonly HISTORY_OF_LOT: Question<
    [lot: string],
    HistoryRow & SummedRow & { readonly family: string; readonly characteristic: string }
  >;

  readonly PARTS: Question<[digests: Listed], { readonly sha256: string; readonly body: string }>;
  /**
   * What the current assessment of each lot says of its units, and by which findings. Current is, of the latest lot file,
   * the assessment by the asked version where there is one, else the latest.
   */
  readonly UNITS_OF_ALL_LOTS: Question<[version: string], AssessedUnitsRow>;
  readonly UNITS_OF_LOT: Question<[version: string, lot: string], AssessedUnitsRow>;
  readonly CURRENT_OF_LOT: Question<[version: string, lot: string], WholeAssessmentRow>;
  /** Lots that another version assessed last, the last of them first. */
  readonly LAST_ASSESSED_BY_OTHERS: Question<[version: string], { readonly lot: string }>;

  /** Statements in the order of signing, each once, by digests of what was signed. */
  readonly SIGNATURES_ON: Question<[digests: Listed], SignatureRow>;
  /** By kind and key of what was signed. */
  readonly SIGNATURES_OF: Question<[kind: string, key: string], SignatureRow>;
  readonly SIGNATURES_OF_KIND: Question<[kind: string], SignatureRow>;
  readonly SIGNATURES_BETWEEN: Question<[kind: string, ...Bounds], SignatureRow>;
  readonly SIGNATURES_BY: Question<[person: string], SignatureRow>;
  readonly SIGNATURES_WITH: Question<[digests: Listed], SignatureRow>;
  readonly ENTRIES_OF_SIGNATURES: Question<[digests: Listed], { readonly ledgerSeq: number }>;

  readonly LEAVES: Question<[seqs: Listed], { readonly seq: number; readonly leaf: string }>;
  /** Nodes of the tree, each asked for by a list of level and index. */
  readonly NODES: Question<[nodes: Listed], { readonly level: number; readonly index: number; readonly hash: string }>;
  /** Entries above `after` and up to `upTo` that a filter lets through, with the values to ask it with. */
  trailQuery(
    filter: TrailFilter,
    stretch: { readonly after: number; readonly upTo: number; readonly take: number },
    order: 'oldest first' | 'newest first',
  ): TrailQuery;

  /** The number of the last row of a table, or 0. */
  lastIdOf(table: string): Question<[], { readonly id: number | bigint }>;
  /**
   * Texts that begin with `start`, as bounds in the order of the engine, so that an index finds them.
   * @param start not empty.
   */
  boundsOfStart(start: string): { readonly from: string; readonly before: string };

  /** Takes sums away, and stores others: rows, each a list in the order of the columns. */
  readonly HISTORY_SUMS_FORGET: Instruction<[periods: Listed]>;
  readonly HISTORY_SUMS_INSERT: Instruction<[sums: Listed]>;

  /** How many entries the ledger has, and up to which of them changes have marked what is kept of lots. */
  readonly KEPT_TO: Question<[], { readonly size: number | bigint; readonly keptTo: number | bigint }>;
  /** Lots whose kept view was made by another version, or touched since. */
  readonly KEPT_BEHIND: Question<[view: string, version: string], { readonly lot: string }>;
  readonly KEPT_ALL: Question<[view: string], KeptRow>;
  readonly KEPT_OF_LOTS: Question<[view: string, lots: Listed], KeptRow>;
  /** Open lots, needed soonest first. */
  readonly KEPT_OPEN_PAGE: Question<[view: string, most: number, skip: number], KeptRow>;
  /** The others, the latest first. */
  readonly KEPT_CLOSED_PAGE: Question<[view: string, most: number, skip: number], KeptRow>;
  /** Lots that ask something of people though nothing of them is left to decide, and all that are open. */
  readonly KEPT_ASKING: Question<[view: string], KeptRow>;
  readonly KEPT_COUNTS: Question<
    [view: string],
    { readonly lots: number | bigint; readonly open: number | bigint; readonly awaiting: number | bigint }
  >;
  /** Numbers of entries that are there, each asked for by a list of kind and key. */
  readonly ENTRY_IDS: Question<
    [names: Listed],
    { readonly id: number | bigint; readonly kind: string; readonly key: string }
  >;
  /** Marks as touched at an entry whatever rests on one of these topics. */
  readonly KEPT_TOUCH: Instruction<[seq: number, topics: Listed]>;
  /** Names lots of which nothing is made yet, in each view. */
  readonly KEPT_BEGIN: Instruction<[seq: number, views: Listed, lots: Listed]>;
  /** Stores what was made of lots: objects with the columns, and `topics`, which stand in place of those before. */
  readonly KEPT_STORE: Instruction<[views: Listed]>;
  readonly KEPT_TOPICS_FORGET: Instruction<[views: Listed]>;
  readonly KEPT_TOPICS_INSERT: Instruction<[views: Listed]>;
  /** Forgets all, and names every lot. */
  readonly KEPT_FORGET: Instruction<[]>;
  readonly KEPT_TOPICS_FORGET_ALL: Instruction<[]>;
  readonly KEPT_BEGIN_ALL: Instruction<[views: Listed]>;
  readonly KEPT_TO_SET: Instruction<[]>;

  /** Takes the one row of the ledger, which is made where it is missing, until the change ends. */
  readonly LEDGER_LOCK_TAKE: Question<[], LeftRow & { readonly now: string | null }>;
  readonly GENERATION: Question<[], GenerationRow>;
  readonly GENERATION_RAISE: Instruction<[number: number, version: string]>;
  /** What the last change left; no row before the first one. */
  readonly LEDGER_LEFT: Question<[], LeftRow>;
  /** Number of the last entry, or 0. */
  readonly LAST_ENTRY: Question<[], { readonly seq: number | bigint }>;
  readonly LEDGER_ENTRY_INSERT: Instruction<[seq: number, body: string, leaf: string]>;
  /** Stores nodes of the tree: objects with level, index and hash. */
  readonly LEDGER_NODES_INSERT: Instruction<[nodes: Listed]>;
  /** Leaves the size of the ledger and its signed head. */
  readonly LEDGER_HEAD_UPDATE: Instruction<[size: number, head: string]>;
}

export interface TrailQuery {
  readonly sql: Question<(string | number)[], { readonly body: string }>;
  readonly values: readonly (string | number)[];
}
