import { COLUMNS, type WholeTable } from './columns.js';
import type * as Stored from './generated/client.js';
import type { Instruction, Listed, Question } from './instruction.js';

/** Questions about the rows of one table, and what is told to change one: in every engine but for how values stand in it. */
export interface PlainQuestions {
  readonly EVENTS_OF: Question<[kind: string, key: string], Stored.Event>;
  readonly EVENTS_AT: Question<[kind: string, key: string, seq: number], Stored.Event>;
  readonly EVENTS_OF_TYPES: Question<[types: Listed], Stored.Event>;
  readonly LAST_EVENT_OF_TYPE: Question<[type: string], Stored.Event>;
  readonly LAST_EVENT_OF: Question<[kind: string, key: string, type: string], Stored.Event>;

  readonly EVIDENCE: Question<[sha256: string], Stored.Evidence>;
  readonly ENTRIES_OF_EVIDENCE: Question<[hashes: Listed], Pick<Stored.Evidence, 'ledgerSeq'>>;
  /** In the order of hashes, those after one. */
  readonly EVIDENCE_AFTER: Question<[sha256: string, most: number], Stored.Evidence>;

  readonly LEDGER_ENTRY: Question<[seq: number], Stored.LedgerEntry>;
  readonly LEDGER_ENTRIES: Question<[seqs: Listed], Stored.LedgerEntry>;
  readonly LEDGER_AFTER: Question<[seq: number, most: number], Stored.LedgerEntry>;

  /** In the order of recording, up to an entry of the audit trail. */
  readonly RESULTS_OF: Question<[lot: string, upTo: number], Stored.Result>;
  readonly CORRECTIONS_AT: Question<[lot: string, seq: number, most: number], Stored.Result>;
  readonly LAST_RESULTS: Question<[], Pick<Stored.Result, 'lot' | 'recordedAt'>>;

  readonly LOG_FILE: Question<[build: string, evidence: string, planSha256: string], Stored.LogFile>;
  readonly LOG_FILE_ELSEWHERE: Question<[evidence: string, build: string], Stored.LogFile>;
  readonly LOG_FILES_OF: Question<[lot: string], Stored.LogFile>;
  readonly LOG_SUMMARIES_OF: Question<[logFileId: number], Stored.LogSummary>;
  /** How many different ones there are of each build that has some. */
  readonly FINDINGS_BY_BUILD: Question<[builds: Listed], { readonly build: string; readonly count: number | bigint }>;

  readonly DOSSIER: Question<[digest: string], Stored.Dossier>;
  /** A whole one has megabytes. */
  readonly ENTRY_OF_DOSSIER: Question<[digest: string], Pick<Stored.Dossier, 'ledgerSeq'>>;
  readonly LAST_DOSSIER: Question<[lot: string], Stored.Dossier>;
  readonly DOSSIERS_UP_TO: Question<[lots: Listed, seq: number], Pick<Stored.Dossier, 'lot' | 'digest'>>;
  /** Those of the parts that are there. */
  readonly PARTS_THERE: Question<[hashes: Listed], Pick<Stored.Part, 'sha256'>>;
  readonly ASSESSMENT: Question<[digest: string], Stored.Assessment>;
  readonly ENTRY_OF_ASSESSMENT: Question<[digest: string], Pick<Stored.Assessment, 'ledgerSeq'>>;
  readonly LAST_ASSESSMENT: Question<[lot: string], Stored.Assessment>;

  readonly SIGNED: Question<[digest: string], Stored.Signature>;

  readonly RECORDS: Question<[], Stored.Record>;
  readonly RECORDS_OF: Question<[lot: string], Stored.Record>;
  readonly RECORD: Question<[number: string, revision: number], Stored.Record>;
  readonly LAST_RECORD: Question<[number: string], Stored.Record>;

  /** Oldest first. */
  readonly STATEMENTS_OF: Question<[family: string, characteristic: string], Stored.CapabilityStatement>;
  /** Latest first. */
  readonly LAST_STATEMENTS: Question<
    [family: string, characteristic: string, most: number],
    Stored.CapabilityStatement
  >;
  readonly STATEMENT: Question<[family: string, characteristic: string, number: number], Stored.CapabilityStatement>;
  readonly STATEMENT_NAMES: Question<
    [],
    Pick<Stored.CapabilityStatement, 'family' | 'characteristic' | 'number' | 'digest'>
  >;

  readonly SESSION: Question<[tokenSha256: string], Stored.Session>;
  readonly SESSION_TOUCH: Instruction<[seenAt: string, code: string, tokenSha256: string]>;
  readonly SENT_FORM: Question<[session: string, number: string], Stored.SentForm>;
  readonly LOCKOUT: Question<[person: string, origin: string], Stored.Lockout>;
  readonly LOCKOUT_SET: Instruction<
    [
      ...[person: string, origin: string, failures: number, failuresEver: number],
      ...[lastFailureAt: string, lockedUntil: string | null, provedAt: string | null],
    ]
  >;

  readonly OPEN_SCAN: Question<[lot: string, build: string], Stored.ScanJob>;

  readonly DRAFT: Question<[name: string], Stored.Draft>;
  /** Of every kind but one, the last one first. */
  readonly DRAFTS_OF: Question<[person: string, notOfKind: string], Stored.Draft>;
  /** The one that was kept first at the head. */
  readonly DRAFTS_OF_KIND: Question<[kind: string], Stored.Draft>;
  readonly DRAFT_FILE_NAMES: Question<[draft: string], Pick<Stored.DraftFile, 'name'>>;

  /** The time of the database, ISO in UTC with milliseconds. */
  readonly CLOCK: Question<[], { readonly now: string }>;
  /** Answers with a row where the lease is taken now: it was free, or its end was past. */
  readonly LEASE_TAKE: Question<[name: string, holder: string, instance: string, forMs: number], { holder: string }>;
  readonly LEASES_RENEW: Question<[forMs: number, instance: string], Pick<Stored.Lease, 'name' | 'holder'>>;
  readonly LEASE: Question<[name: string], Stored.Lease & { readonly now: string }>;
  readonly LEASES: Question<[], Stored.Lease & { readonly now: string }>;
  readonly LEASE_GIVE: Instruction<[name: string, holder: string]>;

  readonly RATE_ADD: Instruction<[window: string, name: string, instance: string, count: number]>;
  /** Of all instances together. */
  readonly RATES: Question<[window: string], { readonly name: string; readonly count: number | bigint }>;
  readonly RATES_DROP: Instruction<[before: string]>;
}

/**
 * Columns are named one by one: a later migration may add one while a service runs, and PostgreSQL then refuses a prepared
 * statement of which the answer has changed its form.
 */
const all = (table: WholeTable): string =>
  `SELECT ${COLUMNS[table].map((column) => `"${column}"`).join(', ')} FROM "${table}"`;

/** In what the engines differ here. Values stand at places from 1. */
interface Words {
  readonly place: (place: number) => string;
  readonly inTexts: (column: string, place: number) => string;
  readonly inNumbers: (column: string, place: number) => string;
  /** The time of the database now, and so many milliseconds later: ISO in UTC. */
  readonly now: string;
  readonly inMs: (place: number) => string;
}

/** Rows of one table by columns of it: what all engines write alike. */
export function plainQuestions({ place, inTexts, inNumbers, now, inMs }: Words): PlainQuestions {
  /** The columns have the values, in their order. */
  const are = (...columns: string[]) =>
    columns.map((column, index) => `"${column}" = ${place(index + 1)}`).join(' AND ');
  const number = (at: number) => `CAST(${place(at)} AS BIGINT)`;
  const places = (count: number) => Array.from({ length: count }, (_, index) => place(index + 1)).join(', ');
  return {
    EVENTS_OF: `${all('Event')} WHERE ${are('subjectKind', 'subjectKey')} ORDER BY "id"`,
    EVENTS_AT: `${all('Event')} WHERE ${are('subjectKind', 'subjectKey', 'ledgerSeq')} ORDER BY "id"`,
    EVENTS_OF_TYPES: `${all('Event')} WHERE ${inTexts('"type"', 1)} ORDER BY "id"`,
    LAST_EVENT_OF_TYPE: `${all('Event')} WHERE ${are('type')} ORDER BY "id" DESC LIMIT 1`,
    LAST_EVENT_OF: `${all('Event')} WHERE ${are('subjectKind', 'subjectKey', 'type')} ORDER BY "id" DESC LIMIT 1`,

    EVIDENCE: `${all('Evidence')} WHERE ${are('sha256')}`,
    ENTRIES_OF_EVIDENCE: `SELECT "ledgerSeq" FROM "Evidence" WHERE ${inTexts('"sha256"', 1)}`,
    EVIDENCE_AFTER: `${all('Evidence')} WHERE "sha256" > ${place(1)} ORDER BY "sha256" LIMIT ${place(2)}`,

    LEDGER_ENTRY: `${all('LedgerEntry')} WHERE ${are('seq')}`,
    LEDGER_ENTRIES: `${all('LedgerEntry')} WHERE ${inNumbers('"seq"', 1)} ORDER BY "seq"`,
    LEDGER_AFTER: `${all('LedgerEntry')} WHERE "seq" > ${place(1)} ORDER BY "seq" LIMIT ${place(2)}`,

    RESULTS_OF: `${all('Result')} WHERE ${are('lot')} AND "ledgerSeq" <= ${number(2)} ORDER BY "id"`,
    CORRECTIONS_AT: `
${all('Result')} WHERE ${are('lot', 'ledgerSeq')} AND "replacesId" IS NOT NULL ORDER BY "id" LIMIT ${place(3)}`,
    LAST_RESULTS: 'SELECT "lot", max("recordedAt") AS "recordedAt" FROM "Result" GROUP BY "lot"',

    LOG_FILE: `${all('LogFile')} WHERE ${are('build', 'evidence', 'planSha256')}`,
    LOG_FILE_ELSEWHERE: `
${all('LogFile')} WHERE ${are('evidence')} AND "build" <> ${place(2)} ORDER BY "id" LIMIT 1`,
    LOG_FILES_OF: `${all('LogFile')} WHERE ${are('lot')} ORDER BY "id"`,
    LOG_SUMMARIES_OF: `${all('LogSummary')} WHERE ${are('logFileId')} ORDER BY "id"`,
    FINDINGS_BY_BUILD: `
SELECT "build", count(DISTINCT "identity") AS "count" FROM "Finding" WHERE ${inTexts('"build"', 1)} GROUP BY "build"`,

    DOSSIER: `${all('Dossier')} WHERE ${are('digest')}`,
    ENTRY_OF_DOSSIER: `SELECT "ledgerSeq" FROM "Dossier" WHERE ${are('digest')}`,
    LAST_DOSSIER: `${all('Dossier')} WHERE ${are('lot')} ORDER BY "ledgerSeq" DESC LIMIT 1`,
    DOSSIERS_UP_TO: `
SELECT "lot", "digest" FROM "Dossier" WHERE ${inTexts('"lot"', 1)} AND "ledgerSeq" <= ${number(2)} ORDER BY "ledgerSeq"`,
    PARTS_THERE: `SELECT "sha256" FROM "Part" WHERE ${inTexts('"sha256"', 1)}`,
    ASSESSMENT: `${all('Assessment')} WHERE ${are('digest')}`,
    ENTRY_OF_ASSESSMENT: `SELECT "ledgerSeq" FROM "Assessment" WHERE ${are('digest')}`,
    LAST_ASSESSMENT: `${all('Assessment')} WHERE ${are('lot')} ORDER BY "ledgerSeq" DESC LIMIT 1`,

    SIGNED: `${all('Signature')} WHERE ${are('digest')}`,

    RECORDS: `${all('Record')} ORDER BY "id"`,
    RECORDS_OF: `${all('Record')} WHERE ${are('lot')} ORDER BY "id"`,
    RECORD: `${all('Record')} WHERE ${are('number', 'revision')}`,
    LAST_RECORD: `${all('Record')} WHERE ${are('number')} ORDER BY "revision" DESC LIMIT 1`,

    STATEMENTS_OF: `
${all('CapabilityStatement')} WHERE ${are('family', 'characteristic')} ORDER BY "number"`,
    LAST_STATEMENTS: `
${all('CapabilityStatement')} WHERE ${are('family', 'characteristic')} ORDER BY "number" DESC LIMIT ${place(3)}`,
    STATEMENT: `${all('CapabilityStatement')} WHERE ${are('family', 'characteristic', 'number')}`,
    STATEMENT_NAMES: `
SELECT "family", "characteristic", "number", "digest" FROM "CapabilityStatement"
ORDER BY "family", "characteristic", "number"`,

    SESSION: `${all('Session')} WHERE ${are('tokenSha256')}`,
    SESSION_TOUCH: `UPDATE "Session" SET "seenAt" = ${place(1)}, "code" = ${place(2)} WHERE "tokenSha256" = ${place(3)}`,
    SENT_FORM: `${all('SentForm')} WHERE ${are('session', 'number')}`,
    LOCKOUT: `${all('Lockout')} WHERE ${are('person', 'origin')}`,
    LOCKOUT_SET: `
INSERT INTO "Lockout" ("person", "origin", "failures", "failuresEver", "lastFailureAt", "lockedUntil", "provedAt")
VALUES (${places(7)}) ON CONFLICT ("person", "origin") DO UPDATE SET "failures" = excluded."failures",
  "failuresEver" = excluded."failuresEver", "lastFailureAt" = excluded."lastFailureAt",
  "lockedUntil" = excluded."lockedUntil", "provedAt" = excluded."provedAt"`,

    OPEN_SCAN: `
${all('ScanJob')} WHERE ${are('lot', 'build')} AND "state" IN ('waiting', 'running') ORDER BY "id" LIMIT 1`,

    DRAFT: `${all('Draft')} WHERE ${are('name')}`,
    DRAFTS_OF: `${all('Draft')} WHERE ${are('person')} AND "kind" <> ${place(2)} ORDER BY "changedAt" DESC`,
    DRAFTS_OF_KIND: `${all('Draft')} WHERE ${are('kind')} ORDER BY "changedAt"`,
    DRAFT_FILE_NAMES: `SELECT "name" FROM "DraftFile" WHERE ${are('draft')} ORDER BY "name"`,

    CLOCK: `SELECT ${now} AS "now"`,
    LEASE_TAKE: `
INSERT INTO "Lease" ("name", "holder", "instance", "endsAt") VALUES (${places(3)}, ${inMs(4)})
ON CONFLICT ("name") DO UPDATE SET "holder" = excluded."holder", "instance" = excluded."instance", "endsAt" = excluded."endsAt"
WHERE "Lease"."endsAt" <= ${now} RETURNING "holder"`,
    // Past its end it is its holder's as long as nobody took it: whoever would waits for the same lock row.
    LEASES_RENEW: `UPDATE "Lease" SET "endsAt" = ${inMs(1)} WHERE "instance" = ${place(2)} RETURNING "name", "holder"`,
    LEASE: `SELECT "name", "holder", "instance", "endsAt", ${now} AS "now" FROM "Lease" WHERE ${are('name')}`,
    LEASES: `SELECT "name", "holder", "instance", "endsAt", ${now} AS "now" FROM "Lease" ORDER BY "name"`,
    LEASE_GIVE: `DELETE FROM "Lease" WHERE ${are('name', 'holder')}`,

    RATE_ADD: `
INSERT INTO "Rate" ("window", "name", "instance", "count") VALUES (${places(3)}, ${number(4)})
ON CONFLICT ("window", "name", "instance") DO UPDATE SET "count" = "Rate"."count" + excluded."count"`,
    RATES: `SELECT "name", CAST(sum("count") AS BIGINT) AS "count" FROM "Rate" WHERE ${are('window')} GROUP BY "name"`,
    RATES_DROP: `DELETE FROM "Rate" WHERE "window" < ${place(1)}`,
  };
}
