import { items, texts, whole } from './listed.js';
import { isNamed } from './revisions.js';

const COLUMNS = `"lot", "version", "madeAt", "touchedAt", "closed", "asks", "awaiting", "neededBy", "body"`;

export const KEPT_TO = 'SELECT "size", "keptTo" FROM "LedgerLock" WHERE "id" = 1';

export const KEPT_BEHIND = `
SELECT "lot" FROM "KeptView" WHERE "view" = $1 AND ("version" <> $2 OR "madeAt" < "touchedAt") ORDER BY "lot"`;

const OF_VIEW = `SELECT ${COLUMNS} FROM "KeptView" WHERE "view" = $1`;

export const KEPT_ALL = `${OF_VIEW} ORDER BY "lot"`;

export const KEPT_OF_LOTS = `${OF_VIEW} AND "lot" IN (SELECT value FROM ${texts('$2', 'lots')}) ORDER BY "lot"`;

export const KEPT_OPEN_PAGE = `${OF_VIEW} AND NOT "closed" ORDER BY "neededBy", "lot" LIMIT $2 OFFSET $3`;

export const KEPT_CLOSED_PAGE = `${OF_VIEW} AND "closed" ORDER BY "neededBy" DESC, "lot" DESC LIMIT $2 OFFSET $3`;

export const KEPT_ASKING = `${OF_VIEW} AND (NOT "closed" OR "asks") ORDER BY "neededBy", "lot"`;

export const KEPT_COUNTS = `
SELECT count(*) AS "lots", count(*) FILTER (WHERE NOT k."closed") AS "open", count(*) FILTER (WHERE k."awaiting") AS "awaiting"
FROM "KeptView" k WHERE k."view" = $1`;

export const ENTRY_IDS = `
SELECT e."id", e."kind", e."key" FROM ${items('$1', 'wanted')} JOIN "Entry" e ON ${isNamed('e', 'wanted')}`;

export const KEPT_TOUCH = `
UPDATE "KeptView" SET "touchedAt" = $1 WHERE ("view", "lot") IN (
  SELECT "view", "lot" FROM "KeptTopic" WHERE "topic" IN (SELECT value::bigint FROM ${texts('$2', 'topics')}))`;

const begin = (from: string): string => `
INSERT INTO "KeptView" ("view", "lot", "version", "madeAt", "touchedAt", "closed", "asks", "awaiting", "neededBy", "body")
SELECT v.value, l."lot", '', 0, s."seq", false, false, false, '', '' FROM ${from} ON CONFLICT DO NOTHING`;

export const KEPT_BEGIN = begin(
  `(SELECT $1::bigint AS "seq") AS s, ${texts('$2', 'v')}, (SELECT value AS "lot" FROM ${texts('$3', 'lots')}) AS l`,
);

const truth = (field: string): string => `(row.value ->> '${field}')::boolean`;

export const KEPT_STORE = `
INSERT INTO "KeptView" ("view", "lot", "version", "madeAt", "touchedAt", "closed", "asks", "awaiting", "neededBy", "body")
SELECT row.value ->> 'view', row.value ->> 'lot', row.value ->> 'version', ${whole('row.value', 'madeAt')}, 0,
  ${truth('closed')}, ${truth('asks')}, ${truth('awaiting')}, row.value ->> 'neededBy', row.value ->> 'body'
FROM ${items('$1', 'row')}
ON CONFLICT ("view", "lot") DO UPDATE SET "version" = excluded."version", "madeAt" = excluded."madeAt",
  "closed" = excluded."closed", "asks" = excluded."asks", "awaiting" = excluded."awaiting",
  "neededBy" = excluded."neededBy", "body" = excluded."body"`;

export const KEPT_TOPICS_FORGET = `
DELETE FROM "KeptTopic" WHERE ("view", "lot") IN (
  SELECT row.value ->> 'view', row.value ->> 'lot' FROM ${items('$1', 'row')})`;

export const KEPT_TOPICS_INSERT = `
INSERT INTO "KeptTopic" ("topic", "view", "lot")
SELECT t.value::bigint, r.value ->> 'view', r.value ->> 'lot'
FROM ${items('$1', 'r')} CROSS JOIN LATERAL json_array_elements_text(r.value -> 'topics') AS t(value) ON CONFLICT DO NOTHING`;

export const KEPT_FORGET = 'DELETE FROM "KeptView"';

export const KEPT_TOPICS_FORGET_ALL = 'DELETE FROM "KeptTopic"';

export const KEPT_BEGIN_ALL = begin(
  `(SELECT "size" AS "seq" FROM "LedgerLock" WHERE "id" = 1) AS s, ${texts('$1', 'v')}, (SELECT "key" AS "lot" FROM "Entry" e
    WHERE "kind" = 'lot' AND EXISTS (SELECT 1 FROM "Revision" r WHERE r."entryId" = e."id")) AS l`,
);

export const KEPT_TO_SET = 'UPDATE "LedgerLock" SET "keptTo" = "size" WHERE "id" = 1';
