/** Without the index, SQLite would look for it among all that came before an entry. */
const OF_LOT_INDEX = '"LotSummary_lot_family_characteristic_idx"';

/** No other row stands in place of `row` as of an entry of the ledger. */
const isLatestAsOf = (row: string, seq: string): string => `NOT EXISTS (
    SELECT 1 FROM "LotSummary" later INDEXED BY "LotSummary_family_replaces_characteristic_idx"
    WHERE later."family" = ${row}."family" AND later."characteristic" = ${row}."characteristic"
      AND later."replaces" = ${row}."position" AND later."ledgerSeq" <= ${seq})`;

/** The last entry that a ledger can have. */
const LAST = '9007199254740991';

/** Positions grow with the ledger. */
const headAsOf = (characteristic: string, seq: string): string => `
  SELECT x."id" FROM "LotSummary" x
  WHERE x."family" = asked.family AND x."characteristic" = ${characteristic} AND x."ledgerSeq" <= ${seq}
  ORDER BY x."ledgerSeq" DESC, x."position" DESC LIMIT 1`;

export const HISTORY_HEADS = `
WITH asked(family, seq) AS (SELECT ?, ?)
SELECT r."characteristic", r."position", r."digest", r."ledgerSeq"
FROM asked CROSS JOIN json_each(?) AS wanted
JOIN "LotSummary" r ON r."id" = (${headAsOf('wanted.value', 'asked.seq')})
ORDER BY r."characteristic"`;

/** Of the two places where a period may lie, wholly before the day from which builds count, or wholly from it on. */
const PART = `CASE
  WHEN s."lastClosedAt" >= asked.before OR (asked."from" <> '' AND s."firstDay" < asked."from" AND s."lastDay" >= asked."from")
    OR substr(wanted.own, 1, length(s."period")) = s."period" THEN 'some'
  WHEN s."lastDay" < asked."from" THEN 'early' ELSE 'counted' END`;

/**
 * Of each characteristic its head, and of what began before a moment the longest periods that are wholly to be counted, or
 * wholly early; of the others the days, to be looked at lot by lot. All in one statement: it sees one moment. The rows of
 * the asking lot are no history of it, so that the day on which it began is looked at too.
 */
export const HISTORY_SUMS = `
WITH RECURSIVE asked(family, before, "from", lot) AS MATERIALIZED (SELECT ?, ?, ?, ?),
wanted(characteristic, own) AS MATERIALIZED (
  SELECT item.value, (
    SELECT substr(min(r."closedAt"), 1, 10) FROM "LotSummary" r INDEXED BY ${OF_LOT_INDEX}
    WHERE r."lot" = asked.lot AND r."family" = asked.family AND r."characteristic" = item.value
      AND r."n" + r."censored" + r."takenOutCount" > 0 AND ${isLatestAsOf('r', LAST)})
  FROM asked CROSS JOIN json_each(?) AS item),
node(id, characteristic, level, period, part) AS MATERIALIZED (
  SELECT s.rowid, s."characteristic", s."level", s."period", ${PART}
  FROM asked CROSS JOIN wanted CROSS JOIN "HistorySum" s
    ON s."family" = asked.family AND s."characteristic" = wanted.characteristic AND s."level" = 0 AND s."period" = ''
  WHERE s."firstClosedAt" < asked.before
  UNION ALL
  SELECT s.rowid, s."characteristic", s."level", s."period", ${PART}
  FROM node CROSS JOIN asked CROSS JOIN wanted ON wanted.characteristic = node.characteristic
  CROSS JOIN "HistorySum" s
    ON s."family" = asked.family AND s."characteristic" = node.characteristic AND s."level" = node.level + 1
    AND s."period" > node.period AND s."period" < node.period || '~'
  WHERE node.part = 'some' AND s."firstClosedAt" < asked.before)
SELECT h."characteristic", h."position", h."digest", h."ledgerSeq", coalesce((
  SELECT json_group_array(json_object('part', node.part, 'lots', json(s."lots"), 'sums', json(s."sums"))
    ORDER BY s."period")
  FROM node CROSS JOIN "HistorySum" s ON s.rowid = node.id
  WHERE node.characteristic = wanted.characteristic AND (node.part <> 'some' OR node.level = 3)), '[]') AS "nodes"
FROM asked CROSS JOIN wanted JOIN "LotSummary" h ON h."id" = (${headAsOf('wanted.characteristic', LAST)})
ORDER BY h."characteristic"`;

/** Rows of lots in a characteristic, for each of which no other stood as of an entry. */
export const HISTORY_OF_LOTS = `
SELECT r."family", r."characteristic", r."lot", r."build", r."builtAt", r."closedAt", r."context", r."n", r."mean",
  r."sumSquaredDeviations", r."min", r."max", r."censored", r."takenOutCount"
FROM (SELECT ? AS seq) AS asked CROSS JOIN json_each(?) AS wanted CROSS JOIN "LotSummary" r INDEXED BY ${OF_LOT_INDEX}
  ON r."lot" = wanted.value ->> '$.lot' AND r."family" = wanted.value ->> '$.family'
  AND r."characteristic" = wanted.value ->> '$.characteristic'
WHERE r."ledgerSeq" <= asked.seq AND ${isLatestAsOf('r', 'asked.seq')}`;

/** What lies beside the days, the months and the years of days: all that their sums are made of anew. */
export const HISTORY_BESIDE = `
SELECT wanted.key AS "want", (
  SELECT json_group_array(json_object('level', s."level", 'period', s."period", 'firstClosedAt', s."firstClosedAt",
    'lastClosedAt', s."lastClosedAt", 'firstDay', s."firstDay", 'lastDay', s."lastDay", 'lots', json(s."lots"),
    'sums', json(s."sums")))
  FROM (SELECT 1 AS level, 0 AS same UNION ALL SELECT 2, 4 UNION ALL SELECT 3, 7) AS beside CROSS JOIN "HistorySum" s
    ON s."family" = wanted.value ->> '$.family' AND s."characteristic" = wanted.value ->> '$.characteristic'
    AND s."level" = beside.level AND s."period" > substr(wanted.value ->> '$.day', 1, beside.same)
    AND s."period" < substr(wanted.value ->> '$.day', 1, beside.same) || '~') AS "nodes"
FROM json_each(?) AS wanted ORDER BY wanted.key`;

export const HISTORY_SUMS_FORGET = `
DELETE FROM "HistorySum" WHERE ("family", "characteristic", "level", "period") IN (
  SELECT value ->> 0, value ->> 1, value ->> 2, value ->> 3 FROM json_each(?))`;

export const HISTORY_SUMS_INSERT = `
INSERT INTO "HistorySum" ("family", "characteristic", "level", "period", "firstClosedAt", "lastClosedAt", "firstDay",
  "lastDay", "lots", "sums")
SELECT value ->> 0, value ->> 1, value ->> 2, value ->> 3, value ->> 4, value ->> 5, value ->> 6, value ->> 7, value ->> 8,
  value ->> 9 FROM json_each(?)`;

/** What a `HistoryWant` asks for, but for contexts. */
const IS_WANTED = `x."family" = wanted.value ->> '$.family' AND x."characteristic" = wanted.value ->> '$.characteristic'
    AND x."lot" IS NOT wanted.value ->> '$.except' AND x."closedAt" < wanted.value ->> '$.before'
    AND x."closedAt" >= coalesce(wanted.value ->> '$.since', '') AND x."ledgerSeq" <= wanted.value ->> '$.seq'
    AND substr(x."builtAt", 1, 10) BETWEEN wanted.value ->> '$.from' AND wanted.value ->> '$.to'
    AND (x."n" + x."censored" > 0 OR x."takenOut" <> '[]' OR (wanted.value ->> '$.beside' AND x."beside" <> '{}'))
    AND ${isLatestAsOf('x', `wanted.value ->> '$.seq'`)}`;
const LAST_FIRST = ['closedAt', 'build', 'position'].map((column) => `x."${column}" DESC`).join();

const ROW = `wanted.key AS "want", r."position", r."lot", r."build", r."builtAt", r."closedAt", r."context", r."n", r."mean",
  r."sumSquaredDeviations", r."min", r."max", r."censored", r."takenOut",
  CASE WHEN wanted.value ->> '$.values' THEN r."values" ELSE '[]' END AS "values",
  CASE WHEN wanted.value ->> '$.beside' THEN r."beside" ELSE '{}' END AS "beside"`;

/**
 * Each wanted list by itself along an index of building, and where contexts are named along that of each, so that the last
 * rows cost no look at the others.
 */
export const HISTORY_ROWS = `
WITH asked(most) AS (SELECT ?)
SELECT ${ROW}
FROM json_each(?) AS wanted CROSS JOIN "LotSummary" r ON r."id" IN (
  SELECT "id" FROM (
    SELECT x."id", x."closedAt", x."build", x."position"
    FROM json_each(wanted.value, '$.contexts') AS named CROSS JOIN "LotSummary" x ON x."id" IN (
      SELECT x."id" FROM "LotSummary" x INDEXED BY "LotSummary_family_characteristic_context_closedAt_idx"
      WHERE x."context" = named.value AND ${IS_WANTED} ORDER BY ${LAST_FIRST} LIMIT (SELECT most FROM asked))
    UNION ALL
    SELECT * FROM (
      SELECT x."id", x."closedAt", x."build", x."position"
      FROM "LotSummary" x INDEXED BY "LotSummary_family_characteristic_closedAt_idx"
      WHERE wanted.value ->> '$.contexts' IS NULL AND ${IS_WANTED} ORDER BY ${LAST_FIRST} LIMIT (SELECT most FROM asked))) AS x
  ORDER BY ${LAST_FIRST} LIMIT (SELECT most FROM asked))
ORDER BY wanted.key, r."closedAt", r."build", r."position"`;

/** Few rows have any of it. */
export const HISTORY_TAKEN_OUT = `
WITH asked(most) AS (SELECT ?)
SELECT ${ROW}
FROM json_each(?) AS wanted CROSS JOIN "LotSummary" r ON r."id" IN (
  SELECT x."id" FROM "LotSummary" x INDEXED BY "LotSummary_family_characteristic_takenOutCount_closedAt_idx"
  WHERE x."takenOutCount" > 0 AND ${IS_WANTED} ORDER BY ${LAST_FIRST} LIMIT (SELECT most FROM asked))
ORDER BY wanted.key, r."closedAt", r."build", r."position"`;

/** Of lots that are named by each `HistoryWant` those with values that it asks for. */
export const HISTORY_LOTS_IN = `
SELECT wanted.key AS "want", (
  SELECT json_group_array(DISTINCT x."lot")
  FROM json_each(wanted.value, '$.lots') AS named
  CROSS JOIN "LotSummary" x INDEXED BY ${OF_LOT_INDEX} ON x."lot" = named.value
  WHERE ${IS_WANTED} AND x."n" > 0 AND (wanted.value ->> '$.contexts' IS NULL
    OR x."context" IN (SELECT value FROM json_each(wanted.value, '$.contexts')))) AS "lots"
FROM json_each(?) AS wanted ORDER BY wanted.key`;

/** Lots of a family whose lot files say nothing of a characteristic. */
export const LOTS_WITHOUT_HISTORY = `
WITH asked(family, characteristic) AS (SELECT ?, ?)
SELECT DISTINCT e."key" AS "lot" FROM asked CROSS JOIN "Entry" f ON f."kind" = 'family' AND f."key" = asked.family
CROSS JOIN "Link" l ON l."toEntryId" = f."id" AND l."name" = 'of family'
JOIN "Revision" r ON r."id" = l."fromRevisionId" JOIN "Entry" e ON e."id" = r."entryId" AND e."kind" = 'lot'
WHERE NOT EXISTS (
  SELECT 1 FROM "LotSummary" x INDEXED BY ${OF_LOT_INDEX}
  WHERE x."lot" = e."key" AND x."family" = asked.family AND x."characteristic" = asked.characteristic
    AND (x."n" + x."censored" > 0 OR x."takenOut" <> '[]' OR x."beside" <> '{}') AND ${isLatestAsOf('x', LAST)})
ORDER BY e."key"`;

export const HISTORY_OF_LOT = `
SELECT r."family", r."characteristic", r."position", r."lot", r."build", r."builtAt", r."closedAt", r."context", r."n",
  r."mean", r."sumSquaredDeviations", r."min", r."max", r."censored", r."values", r."takenOut", r."takenOutCount",
  r."beside"
FROM "LotSummary" r
WHERE r."lot" = ? AND ${isLatestAsOf('r', LAST)}
ORDER BY r."id"`;
