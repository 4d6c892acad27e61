// Written out, since every change runs them: the client's own way costs several times as much.

export const LEDGER_ENTRY_INSERT = 'INSERT INTO "LedgerEntry" ("seq", "body", "leaf") VALUES (?, ?, ?)';

export const LEDGER_NODES_INSERT = `
INSERT INTO "LedgerNode" ("level", "index", "hash")
SELECT node.value ->> 'level', node.value ->> 'index', node.value ->> 'hash' FROM json_each(?) AS node ORDER BY node.key`;

export const LEDGER_HEAD_UPDATE = 'UPDATE "LedgerLock" SET "size" = ?, "head" = ? WHERE "id" = 1';

export const lastIdOf = (table: string): string => `SELECT coalesce(max("id"), 0) AS "id" FROM "${table}"`;
