import type { RecordedTable } from '../recorded-table.js';

/** Statements of the check that holds every stored row against the ledger. All of them only read. */

export const LEDGER_ENTRIES = 'SELECT "seq", "body", "leaf" FROM "LedgerEntry" ORDER BY "seq"';

/** In the order in which the growing tree completes them. */
export const LEDGER_NODES =
  'SELECT "level", "index", "hash" FROM "LedgerNode" ORDER BY ("index" + 1) << "level", "level"';

/** Places only: rows are fetched by place one at a time, so that sorting never holds their texts. */
export const placesOf = ({ name }: RecordedTable): string =>
  `SELECT rowid AS place, "ledgerSeq" AS seq FROM "${name}" NOT INDEXED ORDER BY "ledgerSeq", rowid`;

/** The same without sorting, for a table that has damaged pages. */
export const placeRange = ({ name }: RecordedTable): string =>
  `SELECT min(rowid) AS first, max(rowid) AS last FROM "${name}"`;
export const seqAtPlace = ({ name }: RecordedTable): string =>
  `SELECT "ledgerSeq" AS seq FROM "${name}" WHERE rowid = ?`;

/** What follows from the entry, then what is hashed. */
export function rowAt({ name, following, columns }: RecordedTable): string {
  const names = [...following, ...columns.map((column) => column.name)];
  return `SELECT ${names.map((column) => `"${column}"`).join(', ')} FROM "${name}" WHERE rowid = ?`;
}

/** Evidence files that must be there: all but those that an event says were redacted. */
export const EVIDENCE_PLACES = `
SELECT rowid AS place, "sha256" FROM "Evidence"
WHERE "sha256" NOT IN (SELECT "subjectKey" FROM "Event" WHERE "type" = 'evidence-redacted')
ORDER BY "ledgerSeq"`;
export const FILE_AT = 'SELECT "fileName", "ledgerSeq" AS seq FROM "Evidence" WHERE rowid = ?';

/** Logs, tables and documents whose file is none of the evidence. */
export const UNKEPT = `
SELECT 'log' AS kind, "build" AS key, NULL AS revision, "ledgerSeq" AS seq FROM "LogFile"
WHERE "evidence" NOT IN (SELECT "sha256" FROM "Evidence")
UNION ALL
SELECT 'result sheet', "file", NULL, min("ledgerSeq") FROM "Result"
WHERE "evidence" NOT IN (SELECT "sha256" FROM "Evidence") GROUP BY "lot", "file"
UNION ALL
SELECT "kind", "key", "number", "Revision"."ledgerSeq" FROM "Revision" JOIN "Entry" ON "Entry"."id" = "entryId"
WHERE "kind" IN (SELECT value FROM json_each(?)) AND NOT EXISTS (
  SELECT 1 FROM "Link" WHERE "fromRevisionId" = "Revision"."id" AND "Link"."name" = 'document as received')`;

/** Records as they were issued, and the last archive of the raw rows of each log. */
export const RECORD_FILES = 'SELECT "number", "revision", "fileSha256", "ledgerSeq" AS seq FROM "Record" ORDER BY "id"';
export const ARCHIVES = `
SELECT "subjectKey" AS log, "body", max("ledgerSeq") AS seq FROM "Event"
WHERE "type" = 'archive-made' GROUP BY "subjectKey" ORDER BY seq`;

/** How far the files were in which it is noted who read what. */
export const READS = `SELECT "body", "ledgerSeq" AS seq FROM "Event" WHERE "type" = 'reads-noted' ORDER BY "id"`;

/** What SQLite itself finds wrong with the file: damaged pages, and indexes that do not agree with their tables. */
export const INTEGRITY = 'PRAGMA integrity_check(100)';
export const FOREIGN_KEYS = 'PRAGMA foreign_key_check';
export const TABLE_OF_INDEX = `SELECT tbl_name AS "table" FROM sqlite_master WHERE type = 'index' AND name = ?`;
/** What tells of keys, and what people did under them. */
export const KEYS_AND_ACTS = `
SELECT "body", "ledgerSeq", "recordedAt" AS "at", "recordedOffset" AS "offset", "actor", "reason" FROM "Event"
WHERE "type" IN (SELECT value FROM json_each(?)) ORDER BY "id"`;
export const LAST_HEAD = 'SELECT "size", "head", "keptTo" FROM "LedgerLock" WHERE "id" = 1';
