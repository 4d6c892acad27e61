/** Statements of the check that holds every stored row against the ledger. All of them only read. */

/** Tables whose rows name the ledger entry that recorded them. */
export const RECORDED_TABLES = [
  'Revision',
  'Evidence',
  'Result',
  'LogFile',
  'Event',
  'Signature',
  'Dossier',
  'Assessment',
  'Record',
] as const;
export type RecordedTable = (typeof RECORDED_TABLES)[number];

export const LEDGER_ENTRIES = 'SELECT "seq", "body", "leaf" FROM "LedgerEntry" ORDER BY "seq"';

/** In the order in which the growing tree completes them. */
export const LEDGER_NODES =
  'SELECT "level", "index", "hash" FROM "LedgerNode" ORDER BY ("index" + 1) << "level", "level"';

/** Places only: rows are fetched by place one at a time, so that sorting never holds their texts. */
export const placesOf = (table: RecordedTable): string =>
  `SELECT rowid AS place, "ledgerSeq" AS seq FROM "${table}" ORDER BY "ledgerSeq", rowid`;

/** The same without sorting, for a table that has damaged pages. */
export const placeRange = (table: RecordedTable): string =>
  `SELECT min(rowid) AS first, max(rowid) AS last FROM "${table}"`;
export const seqAtPlace = (table: RecordedTable): string => `SELECT "ledgerSeq" AS seq FROM "${table}" WHERE rowid = ?`;

export const rowOf = (table: RecordedTable): string =>
  table === 'Revision'
    ? 'SELECT r.*, e."kind", e."key" FROM "Revision" r JOIN "Entry" e ON e."id" = r."entryId" WHERE r."id" = ?'
    : `SELECT * FROM "${table}" WHERE rowid = ?`;

export const LINKS = `
SELECT l."name", l."toRevision", l."massG", l."toEvidence", e."kind", e."key"
FROM "Link" l LEFT JOIN "Entry" e ON e."id" = l."toEntryId"
WHERE l."fromRevisionId" = ? ORDER BY l."id"`;

export const SUMMARY_ROWS = 'SELECT * FROM "LogSummary" WHERE "logFileId" = ? ORDER BY "id"';
export const FINDING_ROWS =
  'SELECT "identity", "build", "rule", "level", "channel", "body" FROM "Finding" WHERE "logFileId" = ? ORDER BY "id"';
export const SIGNATURE_SUBJECT_ROWS =
  'SELECT "kind", "key", "digest" FROM "SignatureSubject" WHERE "signature" = ? ORDER BY "id"';
export const LOT_SUMMARY_ROWS = 'SELECT * FROM "LotSummary" WHERE "dossierDigest" = ? ORDER BY "id"';
/** Evidence files that must be there: all but those that an event says were redacted. */
export const EVIDENCE_PLACES = `
SELECT rowid AS place, "sha256" FROM "Evidence"
WHERE "sha256" NOT IN (SELECT "subjectKey" FROM "Event" WHERE "type" = 'evidence-redacted')
ORDER BY "ledgerSeq"`;
export const FILE_AT = 'SELECT "fileName", "ledgerSeq" AS seq FROM "Evidence" WHERE rowid = ?';
export const PART_PLACES = 'SELECT rowid AS place, "sha256" FROM "Part" NOT INDEXED';
export const PART_AT = 'SELECT "body" FROM "Part" WHERE rowid = ?';
export const PART_TYPE = 'SELECT "mediaType" FROM "Part" WHERE "sha256" = ?';

/** What SQLite itself finds wrong with the file: damaged pages, and indexes that do not agree with their tables. */
export const INTEGRITY = 'PRAGMA integrity_check(100)';
export const FOREIGN_KEYS = 'PRAGMA foreign_key_check';
export const TABLE_OF_INDEX = `SELECT tbl_name AS "table" FROM sqlite_master WHERE type = 'index' AND name = ?`;
export const KEYS = `SELECT "body" FROM "Event" WHERE "type" = 'key-made' ORDER BY "id"`;
export const LAST_HEAD = 'SELECT "size", "head" FROM "LedgerLock" WHERE "id" = 1';

const UNRECORDED = 'nothing in the audit trail records it';

/**
 * Rows that nothing recorded: they name no ledger entry themselves, and what they belong to is not there. Behind them
 * what rows say beyond the digests of the audit trail.
 */
export const STRAYS: readonly { readonly kind: string; readonly sql: string; readonly says: string }[] = [
  {
    kind: 'entry',
    sql: `SELECT "kind" || ' ' || "key" AS name FROM "Entry"
      WHERE "id" NOT IN (SELECT "entryId" FROM "Revision")
        AND "id" NOT IN (SELECT "toEntryId" FROM "Link" WHERE "toEntryId" IS NOT NULL)`,
    says: UNRECORDED,
  },
  {
    kind: 'link',
    sql: `SELECT "name" || ' (row ' || "id" || ')' AS name FROM "Link"
      WHERE "fromRevisionId" NOT IN (SELECT "id" FROM "Revision")`,
    says: UNRECORDED,
  },
  {
    kind: 'log summary',
    sql: `SELECT 'row ' || "id" AS name FROM "LogSummary" WHERE "logFileId" NOT IN (SELECT "id" FROM "LogFile")`,
    says: UNRECORDED,
  },
  {
    kind: 'log finding',
    sql: `SELECT "identity" AS name FROM "Finding" WHERE "logFileId" NOT IN (SELECT "id" FROM "LogFile")`,
    says: UNRECORDED,
  },
  {
    kind: 'signed thing',
    sql: `SELECT "kind" || ' ' || "key" AS name FROM "SignatureSubject"
      WHERE "signature" NOT IN (SELECT "digest" FROM "Signature")`,
    says: UNRECORDED,
  },
  {
    kind: 'part',
    sql: `SELECT "sha256" AS name FROM "Part" WHERE "sha256" NOT IN (
      SELECT json_extract(part.value, '$.sha256') FROM "Dossier" d, json_each(d."body", '$.parts') AS part)`,
    says: UNRECORDED,
  },
  {
    kind: 'summaries of lot',
    sql: `SELECT DISTINCT "lot" AS name FROM "LotSummary" WHERE "dossierDigest" NOT IN (
      SELECT json_extract("body", '$.dossier') FROM "LedgerEntry" WHERE json_extract("body", '$.type') = 'lot-summarised')`,
    says: UNRECORDED,
  },
  {
    kind: 'entry',
    sql: `SELECT e."kind" || ' ' || e."key" AS name FROM "Entry" e
      WHERE e."recordedAt" IS NOT (
        SELECT r."recordedAt" FROM "Revision" r
        WHERE r."entryId" = e."id" OR r."id" IN (SELECT "fromRevisionId" FROM "Link" WHERE "toEntryId" = e."id")
        ORDER BY r."ledgerSeq" LIMIT 1)`,
    says: 'its time of recording is not that of the revision which first named it',
  },
  {
    kind: 'result',
    sql: `SELECT 'row ' || n."id" AS name FROM "Result" n
      WHERE n."replacesId" IS NOT NULL AND NOT EXISTS (
        SELECT 1 FROM "Result" o WHERE o."id" = n."replacesId" AND o."id" < n."id" AND o."lot" = n."lot"
          AND o."specimen" = n."specimen" AND o."characteristic" = n."characteristic")`,
    says: 'it corrects a result that is not there',
  },
];
