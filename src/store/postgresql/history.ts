import { asList, items, texts, whole } from './listed.js';

/** No other row stands in place of `row` as of an entry of the ledger. */
const isLatestAsOf = (row: string, seq: string): string => `NOT EXISTS (
    SELECT 1 FROM "LotSummary" later
    WHERE later."family" = ${row}."family" AND later."characteristic" = ${row}."characteristic"
      AND later."replaces" = ${row}."position" AND later."ledgerSeq" <= ${seq})`;

/** The last entry that a ledger can have. */
const LAST = '9007199254740991';

/** Positions grow with the ledger. */
const headAsOf = (characteristic: string, seq: string): string => `
  SELECT x."id" FROM "LotSummary" x
  WHERE x."family" = $1 AND x."characteristic" = ${characteristic} AND x."ledgerSeq" <= ${seq}
  ORDER BY x."ledgerSeq" DESC, x."position" DESC LIMIT 1`;

export const HISTORY_HEADS = `
SELECT r."characteristic", r."position", r."digest", r."ledgerSeq"
FROM ${texts('$3', 'wanted')} JOIN "LotSummary" r ON r."id" = (${headAsOf('wanted.value', '$2::bigint')})
ORDER BY r."characteristic"`;

/** Of the two places where a period may lie, wholly before the day from which builds count, or wholly from it on. */
const PART = `CASE
  WHEN s."lastClosedAt" >= $2::text OR ($3::text <> '' AND s."firstDay" < $3::text AND s."lastDay" >= $3::text)
    OR substr(wanted.own, 1, length(s."period")) = s."period" THEN 'some'
  WHEN s."lastDay" < $3::text THEN 'early' ELSE 'counted' END`;

/**
 * Of each characteristic its head, and of what began before a moment the longest periods that are wholly to be counted, or
 * wholly early; of the others the days, to be looked at lot by lot. All in one statement: it sees one moment. The rows of
 * the asking lot are no history of it, so that the day on which it began is looked at too.
 */
export const HISTORY_SUMS = `
WITH RECURSIVE wanted(characteristic, own) AS MATERIALIZED (
  SELECT item.value, (
    SELECT substr(min(r."closedAt"), 1, 10) FROM "LotSummary" r
    WHERE r."lot" = $4::text AND r."family" = $1::text AND r."characteristic" = item.value
      AND r."n" + r."censored" + r."takenOutCount" > 0 AND ${isLatestAsOf('r', LAST)})
  FROM ${texts('$5', 'item')}),
node(characteristic, level, period, part) AS MATERIALIZED (
  SELECT s."characteristic", s."level", s."period", ${PART}
  FROM wanted JOIN "HistorySum" s
    ON s."family" = $1::text AND s."characteristic" = wanted.characteristic AND s."level" = 0 AND s."period" = ''
  WHERE s."firstClosedAt" < $2::text
  UNION ALL
  SELECT s."characteristic", s."level", s."period", ${PART}
  FROM node JOIN wanted ON wanted.characteristic = node.characteristic JOIN "HistorySum" s
    ON s."family" = $1::text AND s."characteristic" = node.characteristic AND s."level" = node.level + 1
    AND s."period" > node.period AND s."period" < node.period || '~'
  WHERE node.part = 'some' AND s."firstClosedAt" < $2::text)
SELECT h."characteristic", h."position", h."digest", h."ledgerSeq", (
  SELECT ${asList(
    `json_build_object('part', node.part, 'lots', s."lots"::json, 'sums', s."sums"::json)`,
    ' ORDER BY s."period"',
  )}::text
  FROM node JOIN "HistorySum" s ON s."family" = $1::text AND s."characteristic" = node.characteristic
    AND s."level" = node.level AND s."period" = node.period
  WHERE node.characteristic = wanted.characteristic AND (node.part <> 'some' OR node.level = 3)) AS "nodes"
FROM wanted JOIN "LotSummary" h ON h."id" = (${headAsOf('wanted.characteristic', LAST)})
ORDER BY h."characteristic"`;

/** Rows of lots in a characteristic, for each of which no other stood as of an entry. */
export const HISTORY_OF_LOTS = `
SELECT r."family", r."characteristic", r."lot", r."build", r."builtAt", r."closedAt", r."context", r."n", r."mean",
  r."sumSquaredDeviations", r."min", r."max", r."censored", r."takenOutCount"
FROM ${items('$2', 'wanted')} JOIN "LotSummary" r
  ON r."lot" = wanted.value ->> 'lot' AND r."family" = wanted.value ->> 'family'
  AND r."characteristic" = wanted.value ->> 'characteristic'
WHERE r."ledgerSeq" <= $1::bigint AND ${isLatestAsOf('r', '$1::bigint')}`;

/** What lies beside the days, the months and the years of days: all that their sums are made of anew. */
export const HISTORY_BESIDE = `
SELECT wanted.key - 1 AS "want", (
  SELECT ${asList(`json_build_object('level', s."level", 'period', s."period", 'firstClosedAt', s."firstClosedAt",
    'lastClosedAt', s."lastClosedAt", 'firstDay', s."firstDay", 'lastDay', s."lastDay", 'lots', s."lots"::json,
    'sums', s."sums"::json)`)}::text
  FROM (VALUES (1, 0), (2, 4), (3, 7)) AS beside(level, same) JOIN "HistorySum" s
    ON s."family" = wanted.value ->> 'family' AND s."characteristic" = wanted.value ->> 'characteristic'
    AND s."level" = beside.level AND s."period" > substr(wanted.value ->> 'day', 1, beside.same)
    AND s."period" < substr(wanted.value ->> 'day', 1, beside.same) || '~') AS "nodes"
FROM ${items('$1', 'wanted')} ORDER BY wanted.key`;

export const HISTORY_SUMS_FORGET = `
DELETE FROM "HistorySum" WHERE ("family", "characteristic", "level", "period") IN (
  SELECT row.value ->> 0, row.value ->> 1, ${whole('row.value', 2)}, row.value ->> 3 FROM ${items('$1', 'row')})`;

export const HISTORY_SUMS_INSERT = `
INSERT INTO "HistorySum" ("family", "characteristic", "level", "period", "firstClosedAt", "lastClosedAt", "firstDay",
  "lastDay", "lots", "sums")
SELECT row.value ->> 0, row.value ->> 1, ${whole('row.value', 2)}, row.value ->> 3, row.value ->> 4, row.value ->> 5,
  row.value ->> 6, row.value ->> 7, row.value ->> 8, row.value ->> 9 FROM ${items('$1', 'row')}`;

const isWished = (field: string): string => `coalesce((wanted.value ->> '${field}')::boolean, false)`;

/** What a `HistoryWant` asks for, but for contexts. */
const IS_WANTED = `x."family" = wanted.value ->> 'family' AND x."characteristic" = wanted.value ->> 'characteristic'
    AND x."lot" IS DISTINCT FROM wanted.value ->> 'except' AND x."closedAt" < wanted.value ->> 'before'
    AND x."closedAt" >= coalesce(wanted.value ->> 'since', '') AND x."ledgerSeq" <= ${whole('wanted.value', 'seq')}
    AND substr(x."builtAt", 1, 10) BETWEEN wanted.value ->> 'from' AND wanted.value ->> 'to'
    AND (x."n" + x."censored" > 0 OR x."takenOut" <> '[]' OR (${isWished('beside')} AND x."beside" <> '{}'))
    AND ${isLatestAsOf('x', whole('wanted.value', 'seq'))}`;
const LAST_FIRST = ['closedAt', 'build', 'position'].map((column) => `x."${column}" DESC`).join();

/** Values at a place of a JSON value, a row each; none where it is not there. */
const listIn = (field: string): string =>
  `json_array_elements_text(coalesce(wanted.value -> '${field}', '[]'::json)) AS named(value)`;

const ROW = `wanted.key - 1 AS "want", r."position", r."lot", r."build", r."builtAt", r."closedAt", r."context", r."n", r."mean",
  r."sumSquaredDeviations", r."min", r."max", r."censored", r."takenOut",
  CASE WHEN ${isWished('values')} THEN r."values" ELSE '[]' END AS "values",
  CASE WHEN ${isWished('beside')} THEN r."beside" ELSE '{}' END AS "beside"`;

/**
 * Each wanted list by itself along an index of building, and where contexts are named along that of each, so that the last
 * rows cost no look at the others.
 */
export const HISTORY_ROWS = `
SELECT ${ROW}
FROM ${items('$2', 'wanted')} CROSS JOIN LATERAL (
  SELECT x."id" FROM (
    SELECT found.* FROM ${listIn('contexts')} CROSS JOIN LATERAL (
      SELECT x."id", x."closedAt", x."build", x."position" FROM "LotSummary" x
      WHERE x."context" = named.value AND ${IS_WANTED} ORDER BY ${LAST_FIRST} LIMIT $1) AS found
    UNION ALL
    (SELECT x."id", x."closedAt", x."build", x."position" FROM "LotSummary" x
      WHERE wanted.value ->> 'contexts' IS NULL AND ${IS_WANTED} ORDER BY ${LAST_FIRST} LIMIT $1)) AS x
  ORDER BY ${LAST_FIRST} LIMIT $1) AS last JOIN "LotSummary" r ON r."id" = last."id"
ORDER BY wanted.key, r."closedAt", r."build", r."position"`;

/** Few rows have any of it. */
export const HISTORY_TAKEN_OUT = `
SELECT ${ROW}
FROM ${items('$2', 'wanted')} CROSS JOIN LATERAL (
  SELECT x."id" FROM "LotSummary" x WHERE x."takenOutCount" > 0 AND ${IS_WANTED} ORDER BY ${LAST_FIRST} LIMIT $1) AS last
JOIN "LotSummary" r ON r."id" = last."id"
ORDER BY wanted.key, r."closedAt", r."build", r."position"`;

/** Of lots that are named by each `HistoryWant` those with values that it asks for. */
export const HISTORY_LOTS_IN = `
SELECT wanted.key - 1 AS "want", (
  SELECT coalesce(json_agg(DISTINCT x."lot"), '[]'::json)::text
  FROM ${listIn('lots')} JOIN "LotSummary" x ON x."lot" = named.value
  WHERE ${IS_WANTED} AND x."n" > 0 AND (wanted.value ->> 'contexts' IS NULL
    OR x."context" IN (SELECT value FROM ${listIn('contexts')}))) AS "lots"
FROM ${items('$1', 'wanted')} ORDER BY wanted.key`;

/** Lots of a family whose lot files say nothing of a characteristic. */
export const LOTS_WITHOUT_HISTORY = `
SELECT DISTINCT e."key" AS "lot" FROM "Entry" f JOIN "Link" l ON l."toEntryId" = f."id" AND l."name" = 'of family'
JOIN "Revision" r ON r."id" = l."fromRevisionId" JOIN "Entry" e ON e."id" = r."entryId" AND e."kind" = 'lot'
WHERE f."kind" = 'family' AND f."key" = $1 AND NOT EXISTS (
  SELECT 1 FROM "LotSummary" x
  WHERE x."lot" = e."key" AND x."family" = $1 AND x."characteristic" = $2
    AND (x."n" + x."censored" > 0 OR x."takenOut" <> '[]' OR x."beside" <> '{}') AND ${isLatestAsOf('x', LAST)})
ORDER BY e."key"`;

export const HISTORY_OF_LOT = `
SELECT r."family", r."characteristic", r."position", r."lot", r."build", r."builtAt", r."closedAt", r."context", r."n",
  r."mean", r."sumSquaredDeviations", r."min", r."max", r."censored", r."values", r."takenOut", r."takenOutCount",
  r."beside"
FROM "LotSummary" r
WHERE r."lot" = $1 AND ${isLatestAsOf('r', LAST)}
ORDER BY r."id"`;
