/**
 * Bulk inserts: one statement takes all rows as one JSON text, each row a list in the order of the columns. Lists, not
 * objects: SQLite finds a field by its place in a third of the time that it needs by name; and `jsonb_each`, which hands
 * each row on already parsed, halves the time again. A list of texts, numbers and nulls written by JSON.stringify is
 * also its canonical form (RFC 8785), so that its digest can be taken as it stands. Rows bring numbers as text, and an
 * empty text is "no value".
 */
interface Column {
  readonly name: string;
  readonly type: 'text' | 'whole' | 'real';
}

const texts = (...names: string[]): Column[] => names.map((name) => ({ name, type: 'text' }));
const wholes = (...names: string[]): Column[] => names.map((name) => ({ name, type: 'whole' }));
const reals = (...names: string[]): Column[] => names.map((name) => ({ name, type: 'real' }));

/** What the rows of a table bring with them; `constants` come from the statement's first parameters. */
interface Bulk {
  readonly insert: string;
  /** One row as the list that is stored and hashed; the same from a row before storing and from one read back. */
  rowJson(row: object): string;
  rowsJson(rows: readonly object[]): string;
}

function bulk(table: string, columns: readonly Column[], constants: readonly string[]): Bulk {
  const names = [...columns.map((column) => column.name), ...constants];
  const values = [...columns.map(fieldOf), ...constants.map(() => '?')];
  return {
    insert: `
INSERT INTO "${table}" (${names.map((name) => `"${name}"`).join(', ')})
SELECT ${values.join(', ')}
FROM jsonb_each(?) AS row ORDER BY row.key`.trim(),
    rowJson: (row) => JSON.stringify(listOf(row, columns)),
    rowsJson: (rows) => JSON.stringify(rows.map((row) => listOf(row, columns))),
  };
}

const listOf = (row: object, columns: readonly Column[]): unknown[] =>
  columns.map(({ name, type }) => {
    const value = (row as Record<string, unknown>)[name] ?? null;
    if (type === 'text' || value === null) return value;
    return value === '' ? null : Number(value);
  });

function fieldOf({ type }: Column, index: number): string {
  const field = `json_extract(row.value, '$[${index}]')`;
  if (type === 'text') return field;
  return `CAST(${field} AS ${type === 'whole' ? 'INTEGER' : 'REAL'})`;
}

/** First parameters: lot, time of recording, ledger entry; then the rows. */
export const RESULTS = bulk(
  'Result',
  [
    ...texts('specimen', 'piece', 'characteristic', 'value', 'ucum', 'reportedValue', 'reportedUcum'),
    ...texts('standardUncertainty', 'measuredAt', 'instrument', 'analyst', 'method', 'enteredBy', 'checkedBy'),
    ...texts('file', 'evidence', 'reason'),
    ...wholes('replicate', 'methodRevision', 'line', 'replacesId'),
  ],
  ['lot', 'recordedAt', 'ledgerSeq'],
);

/** First parameter: log file; then the rows. */
export const SUMMARIES = bulk(
  'LogSummary',
  [
    ...texts('zone', 'step', 'channel', 'ucum'),
    ...wholes('layer', 'n'),
    ...reals('min', 'max', 'mean', 'timeWeightedMean', 'sd', 'observedMs', 'outsideMs'),
  ],
  ['logFileId'],
);

/** First parameter: log file; then the rows. */
export const FINDINGS = bulk('Finding', texts('identity', 'build', 'rule', 'level', 'channel', 'body'), ['logFileId']);

/** First parameter: digest of the statement; then what it covers. */
export const SIGNATURE_SUBJECTS = bulk('SignatureSubject', texts('kind', 'key', 'digest'), ['signature']);

/** First parameter: revision; then its ties. */
export const LINKS = bulk(
  'Link',
  [...texts('name', 'toEvidence', 'massG'), ...wholes('toEntryId', 'toRevision')],
  ['fromRevisionId'],
);

/** Nodes of the ledger's tree that one entry completes. */
export const LEDGER_NODES = bulk('LedgerNode', [...wholes('level', 'index'), ...texts('hash')], []);

// Written out, since every change runs them: the client's own way costs several times as much.

/** Parameters: number, text, hash. */
export const LEDGER_ENTRY_INSERT = 'INSERT INTO "LedgerEntry" ("seq", "body", "leaf") VALUES (?, ?, ?)';

/** Parameters: number of entries, signed head. */
export const LEDGER_HEAD_UPDATE = 'UPDATE "LedgerLock" SET "size" = ?, "head" = ? WHERE "id" = 1';
