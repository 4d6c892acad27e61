/** No other row stands in place of `row` as of an entry of the ledger. */
const isLatestAsOf = (row: string, seq: string): string => `NOT EXISTS (
    SELECT 1 FROM "LotSummary" later
    WHERE later."family" = ${row}."family" AND later."characteristic" = ${row}."characteristic"
      AND later."replaces" = ${row}."position" AND later."ledgerSeq" <= ${seq})`;

export const HISTORY_HEADS = `
WITH asked(family, seq) AS (SELECT ?, ?)
SELECT r."characteristic", r."position", r."digest", r."ledgerSeq"
FROM asked CROSS JOIN json_each(?) AS wanted
JOIN "LotSummary" r ON r."id" = (
  SELECT x."id" FROM "LotSummary" x
  WHERE x."family" = asked.family AND x."characteristic" = wanted.value AND x."ledgerSeq" <= asked.seq
  ORDER BY x."position" DESC LIMIT 1)
ORDER BY r."characteristic"`;

/**
 * Rows of a context of a characteristic of a family as of an entry, of other lots and of builds that were closed before
 * a moment. A list of all replaced rows would be made anew for each row, as SQLite keeps none that rests on another table.
 */
const earlierOf = (characteristic: string): string => `r."family" = asked.family
  AND r."characteristic" = ${characteristic} AND r."closedAt" < asked.before AND r."ledgerSeq" <= asked.seq
  AND r."lot" <> asked.lot AND ${isLatestAsOf('r', 'asked.seq')}`;

const counts = (when: string): string => `json_array(
  coalesce(sum("n") FILTER (WHERE ${when}), 0), coalesce(sum("censored") FILTER (WHERE ${when}), 0),
  count(DISTINCT "lot") FILTER (WHERE ${when} AND "n" + "censored" > 0),
  count(DISTINCT "lot") FILTER (WHERE ${when} AND "censored" > 0))`;

/** The comparison with nothing comes first: most pools name no day, and this is asked of every row several times. */
const COUNTS = `(asked."from" = '' OR substr(r."builtAt", 1, 10) >= asked."from")`;
const IS_EARLY = `(asked."from" <> '' AND substr(r."builtAt", 1, 10) < asked."from")`;

/**
 * Each context of a characteristic in one pass along an index that holds all that is asked, in its order: what lies before
 * the day from which builds count, and the rest with its sums about a reference. That is the mean of a row that is summed:
 * squares about a value far from the others would leave no digits for the spread.
 */
export const HISTORY_CONTEXTS = `
WITH asked(family, seq, before, "from", lot) AS MATERIALIZED (SELECT ?, ?, ?, ?, ?),
wanted AS MATERIALIZED (SELECT value AS characteristic FROM json_each(?)),
known AS MATERIALIZED (
  SELECT DISTINCT r."characteristic", r."context" FROM asked CROSS JOIN wanted
  CROSS JOIN "LotSummary" r INDEXED BY "LotSummary_sums"
    ON r."family" = asked.family AND r."characteristic" = wanted.characteristic),
about AS MATERIALIZED (
  SELECT known."characteristic", known."context", (
    SELECT r."mean" FROM "LotSummary" r INDEXED BY "LotSummary_sums"
    WHERE ${earlierOf('known."characteristic"')} AND r."context" = known."context" AND r."n" > 0 AND ${COUNTS}
    ORDER BY r."closedAt", r."position" LIMIT 1) AS "reference"
  FROM asked CROSS JOIN known)
SELECT about."characteristic", json_group_array(json((
  SELECT json_object('context', about."context", 'early', ${counts(IS_EARLY)},
    'counted', ${counts(COUNTS)}, 'builds', count(*) FILTER (WHERE "n" > 0 AND ${COUNTS}),
    'lots', count(DISTINCT "lot") FILTER (WHERE "n" > 0 AND ${COUNTS}), 'reference', about."reference",
    'deviations', total("n" * ("mean" - about."reference")) FILTER (WHERE ${COUNTS}),
    'squares', total("sumSquaredDeviations" + "n" * ("mean" - about."reference") * ("mean" - about."reference"))
      FILTER (WHERE ${COUNTS}),
    'min', min("min") FILTER (WHERE ${COUNTS}), 'max', max("max") FILTER (WHERE ${COUNTS}),
    'takenOut', coalesce(sum("takenOutCount"), 0))
  FROM "LotSummary" r INDEXED BY "LotSummary_sums"
  WHERE ${earlierOf('about."characteristic"')} AND r."context" = about."context")) ORDER BY about."context") AS "contexts"
FROM asked CROSS JOIN about GROUP BY about."characteristic"`;

/** Lots and builds of a group, each once, where one may have values in several contexts. */
export const HISTORY_MEMBERS = `
WITH asked(family, seq, before, "from", lot) AS (SELECT ?, ?, ?, ?, ?),
wanted AS MATERIALIZED (
  SELECT value ->> '$.group' AS name, value ->> '$.characteristic' AS characteristic, value ->> '$.context' AS context,
    value ->> '$.early' AS early, value ->> '$.of' AS what FROM json_each(?))
SELECT wanted.name AS "group", count(DISTINCT r."lot") AS "lots", count(DISTINCT r."build") AS "builds"
FROM asked CROSS JOIN wanted CROSS JOIN "LotSummary" r INDEXED BY "LotSummary_sums"
  ON ${earlierOf('wanted.characteristic')} AND r."context" = wanted.context AND ${IS_EARLY} = wanted.early
  AND CASE wanted.what WHEN 'values' THEN r."n" > 0 WHEN 'bounds' THEN r."censored" > 0 ELSE r."n" + r."censored" > 0 END
GROUP BY wanted.name`;

/** What a `HistoryWant` asks for, and what makes one point of a chart by it. */
const IS_WANTED = `x."family" = wanted.value ->> '$.family' AND x."characteristic" = wanted.value ->> '$.characteristic'
    AND x."lot" IS NOT wanted.value ->> '$.except' AND x."closedAt" < wanted.value ->> '$.before'
    AND x."ledgerSeq" <= wanted.value ->> '$.seq'
    AND substr(x."builtAt", 1, 10) BETWEEN wanted.value ->> '$.from' AND wanted.value ->> '$.to'
    AND (wanted.value ->> '$.contexts' IS NULL
      OR x."context" IN (SELECT value FROM json_each(wanted.value, '$.contexts')))
    AND CASE WHEN wanted.value ->> '$.takenOut' THEN x."takenOut" <> '[]'
      ELSE x."n" + x."censored" > 0 OR x."takenOut" <> '[]' END
    AND ${isLatestAsOf('x', `wanted.value ->> '$.seq'`)}`;
const GROUP = `CASE wanted.value ->> '$.by' WHEN 'lot' THEN x."lot" ELSE x."build" END`;

/** Each wanted list by itself along the index of building, so that the last rows cost no look at the earlier ones. */
export const HISTORY_ROWS = `
SELECT wanted.key AS "want", r."position", r."lot", r."build", r."builtAt", r."closedAt", r."context", r."n", r."mean",
  r."sumSquaredDeviations", r."min", r."max", r."censored", r."takenOut",
  CASE WHEN wanted.value ->> '$.values' THEN r."values" ELSE '[]' END AS "values"
FROM json_each(?) AS wanted
JOIN "LotSummary" r ON r."id" IN (
  SELECT x."id" FROM "LotSummary" x
  WHERE ${IS_WANTED} AND (wanted.value ->> '$.groups' IS NULL
    OR ${GROUP} IN (SELECT value FROM json_each(wanted.value, '$.groups')))
  ORDER BY x."closedAt" DESC, x."build" DESC, x."position" DESC LIMIT ?)
ORDER BY wanted.key, r."closedAt", r."build", r."position"`;

/** Where a group began decides, as in the chart: so each row is looked at. */
export const HISTORY_LAST_GROUPS = `
SELECT wanted.key AS "want", (
  SELECT json_group_array(name) FROM (
    SELECT ${GROUP} AS name FROM "LotSummary" x WHERE ${IS_WANTED} AND x."n" > 0
    GROUP BY name ORDER BY min(x."closedAt") DESC, name DESC LIMIT ?)) AS "names"
FROM json_each(?) AS wanted ORDER BY wanted.key`;

export const HISTORY_OF_LOT = `
SELECT r."family", r."characteristic", r."position", r."build", r."builtAt", r."closedAt", r."context", r."n", r."mean",
  r."sumSquaredDeviations", r."min", r."max", r."censored", r."values", r."takenOut"
FROM "LotSummary" r
WHERE r."lot" = ? AND ${isLatestAsOf('r', '9007199254740991')}
ORDER BY r."id"`;
