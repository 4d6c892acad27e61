import { CONTAINS } from '../../kinds/ties.js';
import { isAmong, items, ROW_BY_ROW, texts, whole } from './listed.js';

/**
 * Whether a revision is the latest of its entry. Asked as that none is newer, the server rather reads all revisions once, for
 * whatever few are asked for.
 */
export const isLatest = (revision: string, asOf?: number): string => `${known(revision, asOf)}${revision}."number" = (
    SELECT max(newer."number") FROM "Revision" newer
    WHERE ${known('newer', asOf)}newer."entryId" = ${revision}."entryId")`;

/** Whether another revision of its entry came after it. */
export const isSuperseded = (
  revision: string,
  asOf?: number,
): string => `${known(revision, asOf)}${revision}."number" < (
    SELECT max(newer."number") FROM "Revision" newer
    WHERE ${known('newer', asOf)}newer."entryId" = ${revision}."entryId")`;

/** What was on record at an entry of the audit trail; all there is, where none is asked for. */
const known = (revision: string, asOf: number | undefined): string =>
  asOf === undefined ? '' : `${revision}."ledgerSeq" <= ${Math.trunc(asOf)} AND `;

/** Row of the latest revision of an entry. */
export const latestOf = (entry: string, asOf?: number): string => `(
    SELECT latest."id" FROM "Revision" latest
    WHERE ${known('latest', asOf)}latest."entryId" = ${entry} ORDER BY latest."number" DESC LIMIT 1)`;

const COLUMNS = `e."kind", e."key", r."number" AS "revision", r."name", r."digest", r."recordedAt", r."actor", r."reason",
  r."ledgerSeq", r."body" AS "text"`;

const ENTRY_WITH_REVISIONS = `"Entry" e JOIN "Revision" r ON r."entryId" = e."id"`;

/** Kind and key of an entry, as a list of both asks for it. */
export const isNamed = (entry: string, wanted: string): string =>
  `${entry}."kind" = ${wanted}.value ->> 0 AND ${entry}."key" = ${wanted}.value ->> 1`;

/** Entries with the latest revision of each, taken from the index: to look for a newer one of all revisions reads them all. */
const WITH_LATEST = `CROSS JOIN LATERAL (
  SELECT * FROM "Revision" WHERE "entryId" = e."id" ORDER BY "number" DESC LIMIT 1) AS r`;

export const LATEST_OF_KIND = `
SELECT ${COLUMNS} FROM "Entry" e ${WITH_LATEST}
WHERE e."kind" = $1
ORDER BY e."key"`;

export const REVISIONS_OF = `
SELECT ${COLUMNS} FROM ${ENTRY_WITH_REVISIONS}
WHERE e."kind" = $1 AND e."key" = $2 AND r."number" <= $3
ORDER BY r."number" DESC LIMIT $4`;

export const REVISIONS_OF_ENTRIES = `
SELECT ${COLUMNS} FROM ${items('$1', 'wanted')}
JOIN "Entry" e ON ${isNamed('e', 'wanted')} JOIN "Revision" r ON r."entryId" = e."id"
ORDER BY e."id", r."number"`;

export const LATEST_OF_KINDS = `
SELECT ${COLUMNS} FROM ${texts('$1', 'kinds')}
CROSS JOIN LATERAL (SELECT * FROM "Entry" WHERE "kind" = kinds.value ${ROW_BY_ROW}) AS e ${WITH_LATEST}
ORDER BY e."kind", e."key"`;

export const ALL_OF_KIND = `
SELECT ${COLUMNS} FROM ${ENTRY_WITH_REVISIONS}
WHERE e."kind" = $1
ORDER BY e."id", r."number"`;

export const ALL_TIED_TO = `
SELECT ${COLUMNS} FROM ${ENTRY_WITH_REVISIONS}
WHERE e."kind" IN (SELECT value FROM ${texts('$1', 'kinds')}) AND e."id" IN (
  SELECT naming."entryId" FROM "Entry" target JOIN "Link" l ON l."toEntryId" = target."id" AND l."name" = $4
  JOIN "Revision" naming ON naming."id" = l."fromRevisionId"
  WHERE target."kind" = $2 AND target."key" = $3)
ORDER BY e."id", r."number"`;

export const KEYS_TIED_TO = `
SELECT target."key" FROM "Entry" target
WHERE target."kind" = $1 AND EXISTS (
  SELECT 1 FROM "Link" l JOIN "Revision" r ON r."id" = l."fromRevisionId" JOIN "Entry" e ON e."id" = r."entryId"
  WHERE l."toEntryId" = target."id" AND l."name" = $2
    AND e."kind" IN (SELECT value FROM ${texts('$3', 'kinds')}) AND ${isLatest('r')} ${ROW_BY_ROW})
ORDER BY target."key"`;

/** Each revision once, however many of its ties fit. */
const latestTiedTo = (targets: string): string => `
SELECT ${COLUMNS} FROM ${ENTRY_WITH_REVISIONS}
WHERE r."id" IN (
  SELECT l."fromRevisionId" FROM "Entry" target JOIN "Link" l ON l."toEntryId" = target."id"
  WHERE target."kind" = $1 AND ${targets} AND l."name" = $3) AND ${isLatest('r')}
ORDER BY e."key"`;

export const LATEST_TIED_TO_ANY = latestTiedTo(`target."key" IN (SELECT value FROM ${texts('$2', 'keys')})`);

/** A row for each tie. */
export const LATEST_TIED_TO = `
SELECT ${COLUMNS} FROM "Entry" target JOIN "Link" l ON l."toEntryId" = target."id"
JOIN "Revision" r ON r."id" = l."fromRevisionId" JOIN "Entry" e ON e."id" = r."entryId"
WHERE target."kind" = $1 AND target."key" = $2 AND l."name" = $3 AND ${isLatest('r')}
ORDER BY e."key"`;

/**
 * From the entries that are asked for to what names them, row by row: the server takes each list for a hundred rows, and would
 * else rather read all links there are.
 */
export const LATEST_AROUND = `
WITH own(id) AS MATERIALIZED (
    SELECT e."id" FROM ${texts('$1', 'kind')} CROSS JOIN ${texts('$2', 'named')} CROSS JOIN LATERAL (
      SELECT "id" FROM "Entry" WHERE "kind" = kind.value AND "key" = named.value ${ROW_BY_ROW}) AS e),
  found(id) AS MATERIALIZED (
    SELECT r."id" FROM own CROSS JOIN LATERAL (
      SELECT "id" FROM "Revision" WHERE "entryId" = own.id ${ROW_BY_ROW}) AS r
    UNION
    SELECT l."fromRevisionId" FROM own CROSS JOIN LATERAL (
      SELECT "fromRevisionId" FROM "Link" WHERE "toEntryId" = own.id ${ROW_BY_ROW}) AS l)
SELECT ${COLUMNS} FROM found CROSS JOIN LATERAL (
    SELECT * FROM "Revision" WHERE "id" = found.id ${ROW_BY_ROW}) AS r
  CROSS JOIN LATERAL (SELECT * FROM "Entry" WHERE "id" = r."entryId" ${ROW_BY_ROW}) AS e
WHERE e."kind" IN (SELECT value FROM ${texts('$1', 'kinds')}) AND ${isLatest('r')}
ORDER BY e."kind", e."key"`;

export const ALL_BETWEEN = `
SELECT ${COLUMNS} FROM ${ENTRY_WITH_REVISIONS}
WHERE e."kind" = $1 AND e."key" >= $2 AND e."key" < $3
ORDER BY e."id", r."number"`;

export const CONTAINED_IN = `
WITH RECURSIVE contained(id) AS (
  SELECT "id" FROM "Entry" WHERE "kind" = $1 AND "key" = $2
  UNION
  SELECT l."toEntryId" FROM contained JOIN "Revision" r ON r."entryId" = contained.id
    JOIN "Link" l ON l."fromRevisionId" = r."id"
  WHERE ${isAmong('l."name"', CONTAINS)} AND ${isLatest('r')}
)
SELECT ${COLUMNS} FROM contained JOIN "Entry" e ON e."id" = contained.id JOIN "Revision" r ON r."entryId" = e."id"
ORDER BY e."id", r."number"`;

export const ENTRIES_NAMED = `
SELECT "id", "kind", "key", "ledgerSeq" FROM "Entry"
WHERE "key" = $1::text OR ($2::text <> '' AND right("key", length($2::text)) = $2::text)
ORDER BY "kind", "key"`;

/** Of documents and their parts: a signed act goes by a digest, which nobody types. */
export const ENTRIES_LIKE = `
WITH asked(text) AS (SELECT lower($1::text))
SELECT "kind", "key" FROM "Entry" CROSS JOIN asked
WHERE "kind" NOT IN ('act', 'result', 'result-set') AND (
  strpos(lower("key"), text) > 0 OR abs(length("key") - length(text)) <= 2 AND (
    lower(substr("key", 1, 2)) = substr(text, 1, 2) OR lower(right("key", 2)) = right(text, 2)))
ORDER BY length("key"), "key" LIMIT 5000`;

/** Parameter: revisions as a JSON list of lists, kind, key and number. Which entry of the audit trail recorded each. */
export const RECORDED_REVISIONS = `
SELECT e."kind", e."key", r."number" AS "revision", r."ledgerSeq" AS "seq" FROM ${items('$1', 'wanted')}
JOIN "Entry" e ON ${isNamed('e', 'wanted')}
JOIN "Revision" r ON r."entryId" = e."id" AND r."number" = ${whole('wanted.value', 2)}
ORDER BY wanted.key`;
