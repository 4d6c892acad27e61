import type { ResultRow, SummaryRow } from '../../dossier/tables.js';

/**
 * Bulk inserts: one statement takes all rows as one JSON text. Parameters are marked in the order in which they are
 * bound; `ORDER BY` keeps row order, so that ids follow the file.
 */
const column = (name: string): string => `json_extract(row.value, '$.${name}')`;

const RESULT_COLUMNS: readonly (keyof ResultRow)[] = [
  'specimen',
  'piece',
  'characteristic',
  'value',
  'ucum',
  'reportedValue',
  'reportedUcum',
  'standardUncertainty',
  'measuredAt',
  'instrument',
  'analyst',
  'method',
  'enteredBy',
  'checkedBy',
  'file',
  'evidence',
  'reason',
];
const RESULT_WHOLE_NUMBERS: readonly (keyof ResultRow)[] = ['replicate', 'methodRevision', 'line'];

const quoted = (names: readonly string[]): string => names.map((name) => `"${name}"`).join(', ');

/** Parameters: lot, time of recording, ledger entry, rows as JSON. */
export const INSERT_RESULTS = `
INSERT INTO "Result" (${quoted([...RESULT_COLUMNS, ...RESULT_WHOLE_NUMBERS])}, "replacesId", "lot", "recordedAt", "ledgerSeq")
SELECT ${RESULT_COLUMNS.map(column).join(', ')},
       ${RESULT_WHOLE_NUMBERS.map((name) => `CAST(${column(name)} AS INTEGER)`).join(', ')},
       ${column('replacesId')}, ?, ?, ?
FROM json_each(?) AS row ORDER BY row.key`.trim();

const SUMMARY_TEXT: readonly (keyof SummaryRow)[] = ['zone', 'step', 'channel', 'ucum'];
const SUMMARY_WHOLE: readonly (keyof SummaryRow)[] = ['layer', 'n'];
const SUMMARY_REAL: readonly (keyof SummaryRow)[] = [
  'min',
  'max',
  'mean',
  'timeWeightedMean',
  'sd',
  'observedMs',
  'outsideMs',
];

/** Parameters: log file, rows as JSON. An empty text is "no value". */
export const INSERT_SUMMARIES = `
INSERT INTO "LogSummary" (${quoted([...SUMMARY_TEXT, ...SUMMARY_WHOLE, ...SUMMARY_REAL])}, "logFileId")
SELECT ${SUMMARY_TEXT.map(column).join(', ')},
       ${SUMMARY_WHOLE.map((name) => `CAST(NULLIF(${column(name)}, '') AS INTEGER)`).join(', ')},
       ${SUMMARY_REAL.map((name) => `CAST(NULLIF(${column(name)}, '') AS REAL)`).join(', ')}, ?
FROM json_each(?) AS row ORDER BY row.key`.trim();

/** Parameters: log file, findings as JSON. */
export const INSERT_FINDINGS = `
INSERT INTO "Finding" ("identity", "build", "rule", "level", "channel", "body", "logFileId")
SELECT ${column('id')}, ${column('build')}, ${column('rule')}, ${column('level')}, ${column('channel')}, ${column('body')}, ?
FROM json_each(?) AS row ORDER BY row.key`.trim();
