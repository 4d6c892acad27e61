import { type Direction, isEnding, TIES, type TieName } from '../../kinds/ties.js';
import { isLatest, isSuperseded, latestOf } from './revisions.js';

/**
 * Recursive queries over links. UNION, not UNION ALL, and over entries alone, without the distance: else a blend of
 * blends multiplies its paths, and a loop never ends. A link runs from the document that names something to what it names;
 * the table of ties says in which direction that is. Only the latest revision of an entry speaks for it. CROSS JOIN keeps
 * SQLite to the order written, from the few entries reached to their links: its planner would rather walk through all.
 */

/** From entries reached to the links that stand in their own document, and to those that lead to them. */
const own = (asOf: number | undefined): string =>
  `CROSS JOIN "Link" l ON l."fromRevisionId" = ${latestOf('reached.id', asOf)}`;
const LEADING_HERE = `CROSS JOIN "Link" l ON l."toEntryId" = reached.id
  CROSS JOIN "Revision" r ON r."id" = l."fromRevisionId"`;

const namesOf = (which: (name: TieName) => boolean): string =>
  (Object.keys(TIES) as TieName[])
    .filter(which)
    .map((name) => `'${name}'`)
    .join(', ');

/** The two ways over a link: from source to target, where that leads in this direction, and the other way round. */
function waysOf(direction: Direction, asOf: number | undefined) {
  const other: Direction = direction === 'back' ? 'forward' : 'back';
  return [
    {
      source: 'reached.id',
      next: 'l."toEntryId"',
      from: own(asOf),
      where: `l."toEntryId" IS NOT NULL AND ${leads(direction)}`,
    },
    {
      source: 'r."entryId"',
      next: 'r."entryId"',
      from: LEADING_HERE,
      where: `${leads(other)} AND ${isLatest('r', asOf)}`,
    },
  ];
}

/** Most ties lead back, so those that lead forward are told by their names. */
const leads = (direction: Direction): string =>
  `+l."name" ${direction === 'back' ? 'NOT ' : ''}IN (${namesOf((name) => TIES[name].leads === 'forward')})`;

/** Rows as one JSON text, a list for each column: handed over one by one they would cost several times the query. */
const asJson = (columns: readonly string[]): string =>
  `json_array(${columns.map((column) => `json_group_array(${column})`).join(', ')})`;

const ENTRIES = asJson(['e."id"', 'e."kind"', 'e."key"', 'r."name"', 'r."number"']);

const tiesFrom = (source: string): string =>
  asJson([source, 'l."toEntryId"', 'l."name"', 'l."massG"', 'l."count"', 'l."toRevision"']);

/**
 * Parameter: a list of entries as JSON. One row of three JSON texts: `entries`, these and everything that they go back to or
 * went into, with their latest names; and the ties that were walked over, from their source and from their target.
 * With an entry of the audit trail, from what was on record then.
 */
export function reachOf(direction: Direction, asOf?: number): string {
  const ends = namesOf((name) => isEnding(name, direction));
  const ways = waysOf(direction, asOf);
  const steps = ways.map(
    ({ next, from, where }) => `SELECT ${next}, +l."name" NOT IN (${ends}) FROM reached ${from}
  WHERE reached.open AND ${where}`,
  );
  const ties = ways.map(
    ({ source, from, where }) =>
      `SELECT ${tiesFrom(source)} FROM (SELECT id FROM reached WHERE open) reached ${from} WHERE ${where}`,
  );
  return `
WITH RECURSIVE reached(id, open) AS MATERIALIZED (
  SELECT "value", 1 FROM json_each(?)
  UNION ${steps.join('\n  UNION ')}
)
SELECT
  (SELECT ${ENTRIES}
   FROM reached CROSS JOIN "Entry" e ON e."id" = reached.id
   LEFT JOIN "Revision" r ON r."id" = ${latestOf('e."id"', asOf)}) AS entries,
  (${ties[0]}) AS along,
  (${ties[1]}) AS against`;
}

/** Parameter: a list of entries as JSON. Ties of superseded revisions that the latest one of their source has no more. */
export function earlierTies(direction: Direction, asOf?: number): string {
  const other: Direction = direction === 'back' ? 'forward' : 'back';
  // The plus keeps to the few links of one revision: everything that one machine built names it by the same tie.
  const isGone = `NOT EXISTS (SELECT 1 FROM "Link" kept WHERE kept."fromRevisionId" = ${latestOf('r."entryId"', asOf)}
    AND +kept."toEntryId" = l."toEntryId" AND +kept."name" = l."name")`;
  const columns = `r."entryId" AS "source", l."name", r."number" AS "revision"`;
  return `
WITH wanted(value) AS MATERIALIZED (SELECT value FROM json_each(?))
SELECT ties.*, e."kind", e."key" FROM (
  SELECT wanted.value AS "near", l."toEntryId" AS "far", ${columns} FROM wanted
  CROSS JOIN "Revision" r ON r."entryId" = wanted.value CROSS JOIN "Link" l ON l."fromRevisionId" = r."id"
  WHERE ${isSuperseded('r', asOf)} AND l."toEntryId" IS NOT NULL AND ${leads(direction)} AND ${isGone}
  UNION ALL
  SELECT wanted.value, r."entryId", ${columns} FROM wanted
  CROSS JOIN "Link" l ON l."toEntryId" = wanted.value CROSS JOIN "Revision" r ON r."id" = l."fromRevisionId"
  WHERE ${isSuperseded('r', asOf)} AND ${leads(other)} AND ${isGone}
) ties CROSS JOIN "Entry" e ON e."id" = ties."far"
ORDER BY e."kind", e."key", ties."source", ties."name", ties."revision" DESC`;
}

/** Parameters: kind and key of an entry. What takes mass or pieces from it, a row for each tie. */
export const TAKERS = `
SELECT e."kind", e."key", r."digest", r."body" AS "text", l."massG", l."count"
FROM "Entry" source CROSS JOIN "Link" l ON l."toEntryId" = source."id"
  CROSS JOIN "Revision" r ON r."id" = l."fromRevisionId" CROSS JOIN "Entry" e ON e."id" = r."entryId"
WHERE source."kind" = ? AND source."key" = ? AND (l."massG" IS NOT NULL OR l."count" IS NOT NULL) AND ${isLatest('r')}
ORDER BY l."id"`;

/**
 * Parameters: an actor, and the bounds of the same through an account of the machine. Every revision that they took in, the
 * latest first; what they signed is told apart.
 */
export const REVISIONS_BY = `
SELECT e."kind", e."key", r."number" AS "revision", r."name", r."recordedAt"
FROM "Revision" r CROSS JOIN "Entry" e ON e."id" = r."entryId"
WHERE (r."actor" = ? OR (r."actor" >= ? AND r."actor" < ?)) AND e."kind" <> 'act'
ORDER BY r."id" DESC`;

/** Parameter: revisions as a JSON list of lists, kind, key and number. Which entry of the audit trail recorded each. */
export const RECORDED_REVISIONS = `
SELECT e."kind", e."key", r."number" AS "revision", r."ledgerSeq" AS "seq" FROM json_each(?) AS wanted
CROSS JOIN "Entry" e ON e."kind" = wanted.value ->> 0 AND e."key" = wanted.value ->> 1
CROSS JOIN "Revision" r ON r."entryId" = e."id" AND r."number" = wanted.value ->> 2
ORDER BY wanted."key"`;
