// Written out, since every change runs them: the client's own way costs several times as much.

/** Its clock is that of the machine: there is nothing to compare. */
export const LEDGER_LOCK_TAKE = `
INSERT INTO "LedgerLock" ("id", "size") VALUES (1, 0)
ON CONFLICT ("id") DO UPDATE SET "size" = "LedgerLock"."size" RETURNING "size", "head",
  NULL AS "now"`;

/** Raises the generation that can read what is stored; a higher one stays. */
export const GENERATION_RAISE = `
INSERT INTO "Generation" ("id", "number", "version") VALUES (1, ?, ?)
ON CONFLICT ("id") DO UPDATE SET "number" = excluded."number", "version" = excluded."version"
WHERE excluded."number" > "Generation"."number"`;

export const GENERATION = 'SELECT "number", "version" FROM "Generation" WHERE "id" = 1';

export const LEDGER_LEFT = 'SELECT "size", "head" FROM "LedgerLock" WHERE "id" = 1';

export const LAST_ENTRY = 'SELECT coalesce(max("seq"), 0) AS "seq" FROM "LedgerEntry"';

export const LEDGER_ENTRY_INSERT = 'INSERT INTO "LedgerEntry" ("seq", "body", "leaf") VALUES (?, ?, ?)';

export const LEDGER_NODES_INSERT = `
INSERT INTO "LedgerNode" ("level", "index", "hash")
SELECT node.value ->> 'level', node.value ->> 'index', node.value ->> 'hash' FROM json_each(?) AS node ORDER BY node.key`;

/** What is kept of lots stays whole only from a change that finds it whole. */
export const LEDGER_HEAD_UPDATE = `
WITH asked("size", "head") AS (SELECT ?, ?)
UPDATE "LedgerLock" SET "keptTo" = CASE WHEN "keptTo" = "size" THEN (SELECT "size" FROM asked) ELSE "keptTo" END,
  "size" = (SELECT "size" FROM asked), "head" = (SELECT "head" FROM asked)
WHERE "id" = 1`;

export const lastIdOf = (table: string): string => `SELECT coalesce(max("id"), 0) AS "id" FROM "${table}"`;

/** A signature has no time before those of the entries before it, so one looks at it and at what came behind. */
export const LATEST_TIME = `
SELECT max("body" ->> 'at') AS "at" FROM "LedgerEntry"
WHERE "seq" >= (SELECT coalesce(max("ledgerSeq"), 0) FROM "Signature")`;
