/** No other row stands in place of `row` as of an entry of the ledger. */
const isLatestAsOf = (row: string, seq: string): string => `NOT EXISTS (
    SELECT 1 FROM "LotSummary" later
    WHERE later."family" = ${row}."family" AND later."characteristic" = ${row}."characteristic"
      AND later."replaces" = ${row}."position" AND later."ledgerSeq" <= ${seq})`;

export const HISTORY_HEADS = `
WITH asked(family, seq) AS (SELECT ?, ?)
SELECT r."characteristic", r."position", r."digest", r."ledgerSeq" FROM asked CROSS JOIN json_each(?) AS wanted
JOIN "LotSummary" r ON r."id" = (
  SELECT x."id" FROM "LotSummary" x
  WHERE x."family" = asked.family AND x."characteristic" = wanted.value AND x."ledgerSeq" <= asked.seq
  ORDER BY x."position" DESC LIMIT 1)
ORDER BY r."characteristic"`;

/** Rows of a family as of an entry, of builds that were closed before a moment. */
const EARLIER = `asked CROSS JOIN "LotSummary" r ON r."family" = asked.family AND r."closedAt" < asked.before
  AND r."ledgerSeq" <= asked.seq AND ${isLatestAsOf('r', 'asked.seq')}`;

export const HISTORY_CONTEXTS = `
WITH asked(family, seq, before, "from") AS (SELECT ?, ?, ?, ?)
SELECT r."characteristic", r."context", substr(r."builtAt", 1, 10) < asked."from" AS "early",
  sum(r."n") AS "n", sum(r."censored") AS "censored", count(DISTINCT r."lot") AS "lots",
  count(DISTINCT CASE WHEN r."censored" > 0 THEN r."lot" END) AS "lotsWithBounds",
  sum(CASE r."takenOut" WHEN '[]' THEN 0 ELSE json_array_length(r."takenOut") END) AS "takenOut"
FROM ${EARLIER}
GROUP BY r."characteristic", r."context", "early"
ORDER BY r."characteristic", r."context", "early"`;

/** In two passes, and in the order of the rows, so that equal rows give equal sums. */
export const HISTORY_TOTALS = `
WITH asked(family, seq, before, "from") AS (SELECT ?, ?, ?, ?),
admitted AS MATERIALIZED (SELECT value ->> 0 AS characteristic, value ->> 1 AS context FROM json_each(?)),
counted AS MATERIALIZED (
  SELECT r."characteristic", r."position", r."lot", r."build", r."n", r."mean", r."sumSquaredDeviations" AS "squares",
    r."min", r."max"
  FROM ${EARLIER} AND r."n" > 0 AND substr(r."builtAt", 1, 10) >= asked."from"
    AND (r."characteristic", r."context") IN (SELECT characteristic, context FROM admitted)),
centre AS MATERIALIZED (
  SELECT "characteristic", sum("n" * "mean" ORDER BY "position") / sum("n") AS "mean" FROM counted GROUP BY "characteristic")
SELECT c."characteristic", sum(c."n") AS "n", count(DISTINCT c."lot") AS "lots", count(DISTINCT c."build") AS "builds",
  centre."mean" AS "mean",
  sum(c."squares" + c."n" * (c."mean" - centre."mean") * (c."mean" - centre."mean") ORDER BY c."position")
    AS "sumSquaredDeviations",
  min(c."min") AS "min", max(c."max") AS "max"
FROM centre CROSS JOIN counted c ON c."characteristic" = centre."characteristic"
GROUP BY c."characteristic"`;

/** Each wanted list by itself along the index of building, so that the last rows cost no look at the earlier ones. */
export const HISTORY_ROWS = `
SELECT wanted.key AS "want", r."position", r."lot", r."build", r."builtAt", r."closedAt", r."context", r."n", r."mean",
  r."sumSquaredDeviations", r."min", r."max", r."censored", r."takenOut",
  CASE WHEN wanted.value ->> '$.values' THEN r."values" ELSE '[]' END AS "values"
FROM json_each(?) AS wanted
JOIN "LotSummary" r ON r."id" IN (
  SELECT x."id" FROM "LotSummary" x
  WHERE x."family" = wanted.value ->> '$.family' AND x."characteristic" = wanted.value ->> '$.characteristic'
    AND x."closedAt" < wanted.value ->> '$.before' AND x."ledgerSeq" <= wanted.value ->> '$.seq'
    AND substr(x."builtAt", 1, 10) BETWEEN wanted.value ->> '$.from' AND wanted.value ->> '$.to'
    AND (wanted.value ->> '$.contexts' IS NULL
      OR x."context" IN (SELECT value FROM json_each(wanted.value, '$.contexts')))
    AND CASE WHEN wanted.value ->> '$.takenOut' THEN x."takenOut" <> '[]'
      ELSE x."n" + x."censored" > 0 OR x."takenOut" <> '[]' END
    AND ${isLatestAsOf('x', `wanted.value ->> '$.seq'`)}
  ORDER BY x."closedAt" DESC, x."build" DESC, x."position" DESC LIMIT ?)
ORDER BY wanted.key, r."closedAt", r."build", r."position"`;

export const HISTORY_OF_LOT = `
SELECT r."family", r."characteristic", r."position", r."build", r."builtAt", r."closedAt", r."context", r."n", r."mean",
  r."sumSquaredDeviations", r."min", r."max", r."censored", r."values", r."takenOut"
FROM "LotSummary" r
WHERE r."lot" = ? AND ${isLatestAsOf('r', '9007199254740991')}
ORDER BY r."id"`;
