/*
 * Questions about a list of digests. The list is one parameter, a JSON text, so that it may be of any length: as values of
 * a statement it would end at 998 (the database client) or 32 766 (SQLite).
 */
const inList = (column: string): string => `${column} IN (SELECT value FROM json_each(?))`;

/** Statements in the order of signing, each once, however many of the things that it covers are asked for. */
const signaturesWhere = (subject: string): string => `
SELECT "statement", "digest", "personSignature", "signature", "ledgerSeq" FROM "Signature"
WHERE "digest" IN (SELECT s."signature" FROM "SignatureSubject" s WHERE ${subject})
ORDER BY "ledgerSeq"`;

export const SIGNATURES_ON = signaturesWhere(inList('s."digest"'));

export const SIGNATURES_OF = signaturesWhere('s."kind" = ? AND s."key" = ?');

export const SIGNATURES_OF_KIND = signaturesWhere('s."kind" = ?');

export const SIGNATURES_BETWEEN = signaturesWhere('s."kind" = ? AND s."key" >= ? AND s."key" < ?');

export const SIGNATURES_BY = `
SELECT "statement", "digest", "personSignature", "signature", "ledgerSeq" FROM "Signature" WHERE "person" = ? ORDER BY "ledgerSeq"`;

export const SIGNATURES_WITH = `
SELECT "statement", "digest", "personSignature", "signature", "ledgerSeq" FROM "Signature"
WHERE ${inList('"digest"')} ORDER BY "ledgerSeq"`;

export const ENTRIES_OF_SIGNATURES = `SELECT "ledgerSeq" FROM "Signature" WHERE ${inList('"digest"')}`;

export const PARTS = `SELECT "sha256", "body" FROM "Part" WHERE ${inList('"sha256"')}`;

export const EVIDENCE_NAMED_BY = `
SELECT e."kind", e."key", r."number" AS "revision", l."name", v."sha256", v."fileName", v."bytes" FROM json_each(?) AS wanted
CROSS JOIN "Entry" e ON e."kind" = wanted.value ->> 0 AND e."key" = wanted.value ->> 1
CROSS JOIN "Revision" r ON r."entryId" = e."id" AND r."number" = wanted.value ->> 2
CROSS JOIN "Link" l ON l."fromRevisionId" = r."id"
CROSS JOIN "Evidence" v ON v."sha256" = l."toEvidence"
ORDER BY wanted."key", l."id"`;

export const ENTRIES_NAMING_EVIDENCE = `
SELECT DISTINCT r."entryId" AS "id" FROM "Link" l JOIN "Revision" r ON r."id" = l."fromRevisionId"
WHERE l."toEvidence" = ?`;

export const LEAVES = `SELECT "seq", "leaf" FROM "LedgerEntry" WHERE ${inList('"seq"')}`;

export const RESULTS_AT = `SELECT "id", "reportedValue", "reportedUcum" FROM "Result" WHERE ${inList('"id"')}`;

/** CROSS JOIN: from those asked for to the rows. */
export const NODES = `
SELECT n."level", n."index", n."hash" FROM json_each(?) AS wanted
CROSS JOIN "LedgerNode" n ON n."level" = wanted.value ->> 0 AND n."index" = wanted.value ->> 1`;
