/** No other row stands in place of `row` as of an entry of the ledger. */
const isLatestAsOf = (row: string, seq: string): string => `NOT EXISTS (
    SELECT 1 FROM "LotSummary" later
    WHERE later."family" = ${row}."family" AND later."characteristic" = ${row}."characteristic"
      AND later."replaces" = ${row}."position" AND later."ledgerSeq" <= ${seq})`;

/** The reference lies among the values, so that sums about it lose no digits. */
export const HISTORY_HEADS = `
WITH asked(family, seq) AS (SELECT ?, ?)
SELECT r."characteristic", r."position", r."digest", r."ledgerSeq", coalesce((
  SELECT x."mean" FROM "LotSummary" x
  WHERE x."family" = asked.family AND x."characteristic" = wanted.value AND x."n" > 0
  ORDER BY x."position" LIMIT 1), 0.0) AS "reference"
FROM asked CROSS JOIN json_each(?) AS wanted
JOIN "LotSummary" r ON r."id" = (
  SELECT x."id" FROM "LotSummary" x
  WHERE x."family" = asked.family AND x."characteristic" = wanted.value AND x."ledgerSeq" <= asked.seq
  ORDER BY x."position" DESC LIMIT 1)
ORDER BY r."characteristic"`;

/**
 * Rows of characteristics of a family as of an entry, of builds that were closed before a moment. Few rows were replaced:
 * they are listed once, where a look for each row would cost more than all the rest.
 */
const EARLIER = `asked CROSS JOIN wanted CROSS JOIN "LotSummary" r INDEXED BY "LotSummary_sums"
  ON r."family" = asked.family AND r."characteristic" = wanted.characteristic
  AND r."closedAt" < asked.before AND r."ledgerSeq" <= asked.seq
WHERE (r."characteristic", r."position") NOT IN (
  SELECT later."characteristic", later."replaces" FROM "LotSummary" later
  WHERE later."family" = (SELECT family FROM asked) AND later."replaces" > 0
    AND later."ledgerSeq" <= (SELECT seq FROM asked))`;

const counts = (when: string): string => `json_array(
  coalesce(sum("n") FILTER (WHERE ${when}), 0), coalesce(sum("censored") FILTER (WHERE ${when}), 0),
  count(DISTINCT "lot") FILTER (WHERE ${when}),
  count(DISTINCT "lot") FILTER (WHERE ${when} AND "censored" > 0))`;

/** The comparison with nothing comes first: most pools name no day, and this is asked of every row several times. */
const COUNTS = `(asked."from" = '' OR substr("builtAt", 1, 10) >= asked."from")`;
const IS_EARLY = `(asked."from" <> '' AND substr("builtAt", 1, 10) < asked."from")`;

/**
 * Each context of a characteristic in one pass along an index that holds all that is asked, in its order: what lies before
 * the day from which builds count, and the rest with its sums about the reference.
 */
export const HISTORY_CONTEXTS = `
WITH asked(family, seq, before, "from") AS MATERIALIZED (SELECT ?, ?, ?, ?),
wanted AS MATERIALIZED (SELECT value ->> 0 AS characteristic, value ->> 1 AS reference FROM json_each(?))
SELECT wanted.characteristic AS "characteristic", (
  SELECT json_group_array(json(told)) FROM (
    SELECT json_object('context', "context", 'early', ${counts(IS_EARLY)},
      'counted', ${counts(COUNTS)}, 'builds', count(*) FILTER (WHERE "n" > 0 AND ${COUNTS}),
      'lots', count(DISTINCT "lot") FILTER (WHERE "n" > 0 AND ${COUNTS}),
      'deviations', total("n" * ("mean" - wanted.reference)) FILTER (WHERE ${COUNTS}),
      'squares', total("sumSquaredDeviations" + "n" * ("mean" - wanted.reference) * ("mean" - wanted.reference))
        FILTER (WHERE ${COUNTS}),
      'min', min("min") FILTER (WHERE ${COUNTS}), 'max', max("max") FILTER (WHERE ${COUNTS}),
      'takenOut', sum("takenOutCount")) AS told
    FROM "LotSummary" INDEXED BY "LotSummary_sums"
    WHERE "family" = asked.family AND "characteristic" = wanted.characteristic AND "closedAt" < asked.before
      AND "ledgerSeq" <= asked.seq AND "position" NOT IN (
        SELECT later."replaces" FROM "LotSummary" later
        WHERE later."family" = asked.family AND later."replaces" > 0
          AND later."characteristic" = wanted.characteristic AND later."ledgerSeq" <= asked.seq)
    GROUP BY "context" ORDER BY "context")) AS "contexts"
FROM asked CROSS JOIN wanted`;

/** Lots and builds, each once, where one may have values in several contexts. */
export const HISTORY_MEMBERS = `
WITH asked(family, seq, before, "from") AS (SELECT ?, ?, ?, ?),
wanted AS MATERIALIZED (SELECT value ->> 0 AS characteristic, value ->> 1 AS context FROM json_each(?))
SELECT r."characteristic", count(DISTINCT r."lot") AS "lots", count(DISTINCT r."build") AS "builds"
FROM ${EARLIER} AND r."context" = wanted.context AND r."n" > 0 AND substr(r."builtAt", 1, 10) >= asked."from"
GROUP BY r."characteristic"`;

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
