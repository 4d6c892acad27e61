import { CONTAINS } from '../../kinds/ties.js';
import { isAmong, items, texts, whole } from './listed.js';

/** Whether a revision is the latest of its entry: no newer one exists. */
export const isLatest = (revision: string, asOf?: number): string => `${known(revision, asOf)}NOT EXISTS (
    SELECT 1 FROM "Revision" newer
    WHERE ${known('newer', asOf)}newer."entryId" = ${revision}."entryId" AND newer."number" > ${revision}."number")`;

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

export const LATEST_OF_KIND = `
SELECT ${COLUMNS} FROM ${ENTRY_WITH_REVISIONS}
WHERE e."kind" = $1 AND ${isLatest('r')}
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
SELECT ${COLUMNS} FROM ${ENTRY_WITH_REVISIONS}
WHERE e."kind" IN (SELECT value FROM ${texts('$1', 'kinds')}) AND ${isLatest('r')}
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
    AND e."kind" IN (SELECT value FROM ${texts('$3', 'kinds')}) AND ${isLatest('r')})
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

export const LATEST_AROUND = `
WITH kinds(value) AS (SELECT value FROM ${texts('$1', 'kind')}),
  own(id) AS (
    SELECT e."id" FROM "Entry" e
    WHERE e."kind" IN (SELECT value FROM kinds) AND e."key" IN (SELECT value FROM ${texts('$2', 'key')}))
SELECT ${COLUMNS} FROM ${ENTRY_WITH_REVISIONS}
WHERE e."kind" IN (SELECT value FROM kinds) AND ${isLatest('r')} AND r."id" IN (
  SELECT ownRevision."id" FROM own JOIN "Revision" ownRevision ON ownRevision."entryId" = own.id
  UNION
  SELECT l."fromRevisionId" FROM own JOIN "Link" l ON l."toEntryId" = own.id)
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
