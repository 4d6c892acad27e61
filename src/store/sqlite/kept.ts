const COLUMNS = `"lot", "version", "madeAt", "touchedAt", "closed", "asks", "awaiting", "neededBy", "body"`;

export const KEPT_TO = 'SELECT "size", "keptTo" FROM "LedgerLock" WHERE "id" = 1';

export const KEPT_BEHIND = `
SELECT "lot" FROM "KeptView" WHERE "view" = ? AND ("version" <> ? OR "madeAt" < "touchedAt") ORDER BY "lot"`;

const OF_VIEW = `SELECT ${COLUMNS} FROM "KeptView" WHERE "view" = ?`;

export const KEPT_ALL = `SELECT ${COLUMNS} FROM "KeptView" WHERE "view" = ? ORDER BY "lot"`;

export const KEPT_OF_LOTS = `${OF_VIEW} AND "lot" IN (SELECT value FROM json_each(?)) ORDER BY "lot"`;

/** Along an index, and no further than the page goes. */
export const KEPT_OPEN_PAGE = `${OF_VIEW} AND "closed" = 0 ORDER BY "neededBy", "lot" LIMIT ? OFFSET ?`;

export const KEPT_CLOSED_PAGE = `${OF_VIEW} AND "closed" = 1 ORDER BY "neededBy" DESC, "lot" DESC LIMIT ? OFFSET ?`;

export const KEPT_ASKING = `${OF_VIEW} AND ("closed" = 0 OR "asks" = 1) ORDER BY "neededBy", "lot"`;

export const KEPT_COUNTS = `
WITH asked("view") AS (SELECT ?)
SELECT (SELECT count(*) FROM "KeptView" k WHERE k."view" = asked."view") AS "lots",
  (SELECT count(*) FROM "KeptView" k WHERE k."view" = asked."view" AND k."closed" = 0) AS "open",
  (SELECT count(*) FROM "KeptView" k WHERE k."view" = asked."view" AND k."awaiting" = 1) AS "awaiting"
FROM asked`;

export const ENTRY_IDS = `
SELECT e."id", e."kind", e."key" FROM json_each(?) AS wanted
CROSS JOIN "Entry" e ON e."kind" = wanted.value ->> 0 AND e."key" = wanted.value ->> 1`;

export const KEPT_TOUCH = `
UPDATE "KeptView" SET "touchedAt" = ? WHERE ("view", "lot") IN (
  SELECT "view", "lot" FROM "KeptTopic" WHERE "topic" IN (SELECT value FROM json_each(?)))`;

const begin = (from: string): string => `
INSERT INTO "KeptView" ("view", "lot", "version", "madeAt", "touchedAt", "closed", "asks", "awaiting", "neededBy", "body")
SELECT v.value, l."lot", '', 0, s."seq", 0, 0, 0, '', '' FROM ${from} WHERE true ON CONFLICT DO NOTHING`;

export const KEPT_BEGIN = begin(
  '(SELECT ? AS "seq") AS s, json_each(?) AS v, (SELECT value AS "lot" FROM json_each(?)) AS l',
);

export const KEPT_STORE = `
INSERT INTO "KeptView" ("view", "lot", "version", "madeAt", "touchedAt", "closed", "asks", "awaiting", "neededBy", "body")
SELECT value ->> 'view', value ->> 'lot', value ->> 'version', value ->> 'madeAt', 0, value ->> 'closed', value ->> 'asks',
  value ->> 'awaiting', value ->> 'neededBy', value ->> 'body' FROM json_each(?) WHERE true
ON CONFLICT ("view", "lot") DO UPDATE SET "version" = excluded."version", "madeAt" = excluded."madeAt",
  "closed" = excluded."closed", "asks" = excluded."asks", "awaiting" = excluded."awaiting",
  "neededBy" = excluded."neededBy", "body" = excluded."body"`;

export const KEPT_TOPICS_FORGET = `
DELETE FROM "KeptTopic" WHERE ("view", "lot") IN (SELECT value ->> 'view', value ->> 'lot' FROM json_each(?))`;

export const KEPT_TOPICS_INSERT = `
INSERT OR IGNORE INTO "KeptTopic" ("topic", "view", "lot")
SELECT t.value, r.value ->> 'view', r.value ->> 'lot' FROM json_each(?) AS r, json_each(r.value -> 'topics') AS t`;

export const KEPT_FORGET = 'DELETE FROM "KeptView"';

export const KEPT_TOPICS_FORGET_ALL = 'DELETE FROM "KeptTopic"';

export const KEPT_BEGIN_ALL = begin(
  `(SELECT "size" AS "seq" FROM "LedgerLock" WHERE "id" = 1) AS s, json_each(?) AS v, (SELECT "key" AS "lot" FROM "Entry" e
    WHERE "kind" = 'lot' AND EXISTS (SELECT 1 FROM "Revision" r WHERE r."entryId" = e."id")) AS l`,
);

export const KEPT_TO_SET = 'UPDATE "LedgerLock" SET "keptTo" = "size" WHERE "id" = 1';
