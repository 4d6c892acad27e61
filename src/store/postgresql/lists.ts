import { inNumbers, inTexts, items, whole } from './listed.js';
import { isNamed } from './revisions.js';

const SIGNATURES = `SELECT "statement", "digest", "personSignature", "signature", "ledgerSeq" FROM "Signature"`;

/** Statements in the order of signing, each once, however many of the things that it covers are asked for. */
const signaturesWhere = (subject: string): string => `
${SIGNATURES}
WHERE "digest" IN (SELECT s."signature" FROM "SignatureSubject" s WHERE ${subject})
ORDER BY "ledgerSeq"`;

export const SIGNATURES_ON = signaturesWhere(inTexts('s."digest"'));

export const SIGNATURES_OF = signaturesWhere('s."kind" = $1 AND s."key" = $2');

export const SIGNATURES_OF_KIND = signaturesWhere('s."kind" = $1');

export const SIGNATURES_BETWEEN = signaturesWhere('s."kind" = $1 AND s."key" >= $2 AND s."key" < $3');

export const SIGNATURES_BY = `${SIGNATURES} WHERE "person" = $1 ORDER BY "ledgerSeq"`;

export const SIGNATURES_WITH = `${SIGNATURES} WHERE ${inTexts('"digest"')} ORDER BY "ledgerSeq"`;

export const ENTRIES_OF_SIGNATURES = `SELECT "ledgerSeq" FROM "Signature" WHERE ${inTexts('"digest"')}`;

export const PARTS = `SELECT "sha256", "body" FROM "Part" WHERE ${inTexts('"sha256"')}`;

export const EVIDENCE_NAMED_BY = `
SELECT e."kind", e."key", r."number" AS "revision", l."name", v."sha256", v."fileName", v."bytes" FROM ${items('$1', 'wanted')}
JOIN "Entry" e ON ${isNamed('e', 'wanted')}
JOIN "Revision" r ON r."entryId" = e."id" AND r."number" = ${whole('wanted.value', 2)}
JOIN "Link" l ON l."fromRevisionId" = r."id"
JOIN "Evidence" v ON v."sha256" = l."toEvidence"
ORDER BY wanted.key, l."id"`;

export const ENTRIES_NAMING_EVIDENCE = `
SELECT DISTINCT r."entryId" AS "id" FROM "Link" l JOIN "Revision" r ON r."id" = l."fromRevisionId"
WHERE l."toEvidence" = $1`;

export const LEAVES = `SELECT "seq", "leaf" FROM "LedgerEntry" WHERE ${inNumbers('"seq"')}`;

export const RESULTS_AT = `SELECT "id", "reportedValue", "reportedUcum" FROM "Result" WHERE ${inNumbers('"id"')}`;

export const NODES = `
SELECT n."level", n."index", n."hash" FROM ${items('$1', 'wanted')}
JOIN "LedgerNode" n ON n."level" = ${whole('wanted.value', 0)} AND n."index" = ${whole('wanted.value', 1)}`;
