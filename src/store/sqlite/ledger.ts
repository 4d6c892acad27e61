// Written out, since every change runs them: the client's own way costs several times as much.

/** Parameters: number, text, hash. */
export const LEDGER_ENTRY_INSERT = 'INSERT INTO "LedgerEntry" ("seq", "body", "leaf") VALUES (?, ?, ?)';

/** Parameter: nodes of the ledger's tree that one entry completes, as a JSON list. */
export const LEDGER_NODES_INSERT = `
INSERT INTO "LedgerNode" ("level", "index", "hash")
SELECT node.value ->> 'level', node.value ->> 'index', node.value ->> 'hash' FROM json_each(?) AS node ORDER BY node.key`;

/** Parameters: number of entries, signed head. */
export const LEDGER_HEAD_UPDATE = 'UPDATE "LedgerLock" SET "size" = ?, "head" = ? WHERE "id" = 1';
