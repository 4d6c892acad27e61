import { CONTAINS } from '../../kinds/ties.js';

/**
 * Whether a revision is the latest of its entry: no newer one exists. The unique index over entry and number answers it
 * with one step for each revision.
 */
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

/** Row of the latest revision of an entry: cheaper than to look at each of its revisions, where only that one is wanted. */
export const latestOf = (entry: string, asOf?: number): string => `(
    SELECT latest."id" FROM "Revision" latest
    WHERE ${known('latest', asOf)}latest."entryId" = ${entry} ORDER BY latest."number" DESC LIMIT 1)`;

const COLUMNS = `e."kind", e."key", r."number" AS "revision", r."name", r."digest", r."recordedAt", r."actor", r."reason",
  r."ledgerSeq", r."body" AS "text"`;

/*
 * One join, with as many parameters as are written here: the database client would list the identities of all entries as
 * values of a second statement, and ends at 998 of them.
 */

export const LATEST_OF_KIND = `
SELECT ${COLUMNS} FROM "Entry" e JOIN "Revision" r ON r."entryId" = e."id"
WHERE e."kind" = ? AND ${isLatest('r')}
ORDER BY e."key"`;

export const REVISIONS_OF = `
SELECT ${COLUMNS} FROM "Entry" e JOIN "Revision" r ON r."entryId" = e."id"
WHERE e."kind" = ? AND e."key" = ? AND r."number" <= ?
ORDER BY r."number" DESC LIMIT ?`;

/** CROSS JOIN: from the entries that are asked for to their revisions. */
export const REVISIONS_OF_ENTRIES = `
SELECT ${COLUMNS} FROM json_each(?) AS wanted
CROSS JOIN "Entry" e ON e."kind" = wanted.value ->> 0 AND e."key" = wanted.value ->> 1
CROSS JOIN "Revision" r ON r."entryId" = e."id"
ORDER BY e."id", r."number"`;

/** CROSS JOIN: from the kinds that are asked for to their entries. */
export const LATEST_OF_KINDS = `
SELECT ${COLUMNS} FROM json_each(?) AS kind
CROSS JOIN "Entry" e ON e."kind" = kind.value JOIN "Revision" r ON r."entryId" = e."id"
WHERE ${isLatest('r')}
ORDER BY e."kind", e."key"`;

export const ALL_OF_KIND = `
SELECT ${COLUMNS} FROM "Entry" e JOIN "Revision" r ON r."entryId" = e."id"
WHERE e."kind" = ?
ORDER BY e."id", r."number"`;

/** CROSS JOIN: from the entry that is named to what names it, whichever revision of that does. */
export const ALL_TIED_TO = `
WITH asked(kinds, kind, key, tie) AS (SELECT ?, ?, ?, ?),
  found(id) AS (
    SELECT DISTINCT r."entryId" FROM asked
    CROSS JOIN "Entry" target ON target."kind" = asked.kind AND target."key" = asked.key
    CROSS JOIN "Link" l ON l."toEntryId" = target."id" AND l."name" = asked.tie
    CROSS JOIN "Revision" r ON r."id" = l."fromRevisionId")
SELECT ${COLUMNS} FROM found CROSS JOIN "Entry" e ON e."id" = found.id CROSS JOIN "Revision" r ON r."entryId" = e."id"
WHERE e."kind" IN (SELECT value FROM asked, json_each(asked.kinds))
ORDER BY e."id", r."number"`;

/** CROSS JOIN: from the entries of a kind, each of which is looked at no further than its first tie. */
export const KEYS_TIED_TO = `
WITH asked(kind, tie, kinds) AS (SELECT ?, ?, ?)
SELECT target."key" FROM asked CROSS JOIN "Entry" target ON target."kind" = asked.kind
WHERE EXISTS (
  SELECT 1 FROM "Link" l CROSS JOIN "Revision" r ON r."id" = l."fromRevisionId" CROSS JOIN "Entry" e ON e."id" = r."entryId"
  WHERE l."toEntryId" = target."id" AND l."name" = asked.tie
    AND e."kind" IN (SELECT value FROM json_each(asked.kinds)) AND ${isLatest('r')})
ORDER BY target."key"`;

export const LATEST_TIED_TO = `
SELECT ${COLUMNS} FROM "Entry" target
CROSS JOIN "Link" l ON l."toEntryId" = target."id"
JOIN "Revision" r ON r."id" = l."fromRevisionId" JOIN "Entry" e ON e."id" = r."entryId"
WHERE target."kind" = ? AND target."key" = ? AND l."name" = ? AND ${isLatest('r')}
ORDER BY e."key"`;

export const LATEST_TIED_TO_ANY = `
SELECT ${COLUMNS} FROM (SELECT ? AS kind) AS asked CROSS JOIN json_each(?) AS named
CROSS JOIN "Entry" target ON target."kind" = asked.kind AND target."key" = named.value
CROSS JOIN "Link" l ON l."toEntryId" = target."id" AND l."name" = ?
JOIN "Revision" r ON r."id" = l."fromRevisionId" JOIN "Entry" e ON e."id" = r."entryId"
WHERE ${isLatest('r')} GROUP BY r."id" ORDER BY e."key"`;

/** CROSS JOIN: from the entries that are asked for to what names them. */
export const LATEST_AROUND = `
WITH asked(kinds, keys) AS (SELECT ?, ?),
  "own"("id") AS (
    SELECT e."id" FROM asked CROSS JOIN json_each(asked.kinds) AS kind CROSS JOIN json_each(asked.keys) AS key
    CROSS JOIN "Entry" e ON e."kind" = kind.value AND e."key" = key.value),
  found("id") AS (
    SELECT r."id" FROM "own" CROSS JOIN "Revision" r ON r."entryId" = "own"."id"
    UNION
    SELECT l."fromRevisionId" FROM "own" CROSS JOIN "Link" l ON l."toEntryId" = "own"."id")
SELECT ${COLUMNS} FROM found
CROSS JOIN "Revision" r ON r."id" = found."id" CROSS JOIN "Entry" e ON e."id" = r."entryId"
WHERE e."kind" IN (SELECT value FROM asked, json_each(asked.kinds)) AND ${isLatest('r')}
ORDER BY e."kind", e."key"`;

export const ALL_BETWEEN = `
SELECT ${COLUMNS} FROM "Entry" e JOIN "Revision" r ON r."entryId" = e."id"
WHERE e."kind" = ? AND e."key" >= ? AND e."key" < ?
ORDER BY e."id", r."number"`;

export const CONTAINED_IN = `
WITH RECURSIVE contained(id) AS (
  SELECT "id" FROM "Entry" WHERE "kind" = ? AND "key" = ?
  UNION
  SELECT l."toEntryId" FROM contained CROSS JOIN "Revision" r ON r."entryId" = contained.id
    CROSS JOIN "Link" l ON l."fromRevisionId" = r."id"
  WHERE l."name" IN (${CONTAINS.map((name) => `'${name}'`).join(', ')}) AND ${isLatest('r')}
)
SELECT ${COLUMNS} FROM contained CROSS JOIN "Entry" e ON e."id" = contained.id
CROSS JOIN "Revision" r ON r."entryId" = e."id"
ORDER BY e."id", r."number"`;

export const ENTRIES_NAMED = `
WITH asked(whole, ending) AS (SELECT ?, ?)
SELECT "id", "kind", "key", "ledgerSeq" FROM "Entry", asked
WHERE "key" = whole OR substr("key", -length(ending)) = ending
ORDER BY "kind", "key"`;

/** Of documents and their parts: a signed act goes by a digest, which nobody types. */
export const ENTRIES_LIKE = `
WITH asked(text) AS (SELECT lower(?))
SELECT "kind", "key" FROM "Entry", asked
WHERE "kind" NOT IN ('act', 'result', 'result-set') AND (
  instr(lower("key"), text) > 0 OR abs(length("key") - length(text)) <= 2 AND (
    lower(substr("key", 1, 2)) = substr(text, 1, 2) OR lower(substr("key", -2)) = substr(text, -2)))
ORDER BY length("key"), "key" LIMIT 5000`;
