import { type Direction, isEnding, TIES, type TieName } from '../../kinds/ties.js';
import { asList, isAmong, texts } from './listed.js';
import { isLatest, isSuperseded, latestOf } from './revisions.js';

/**
 * Recursive queries over links. UNION, not UNION ALL, and over entries alone, without the distance: else a blend of
 * blends multiplies its paths, and a loop never ends. A link runs from the document that names something to what it names;
 * the table of ties says in which direction that is. Only the latest revision of an entry speaks for it.
 */

const namesOf = (which: (name: TieName) => boolean): string[] => (Object.keys(TIES) as TieName[]).filter(which);

/** Most ties lead back, so those that lead forward are told by their names. */
const leads = (direction: Direction): string => {
  const isForward = isAmong(
    'l."name"',
    namesOf((name) => TIES[name].leads === 'forward'),
  );
  return direction === 'back' ? `NOT ${isForward}` : isForward;
};

/** The two ways over a link: from source to target, where that leads in this direction, and the other way round. */
function waysOf(direction: Direction, asOf: number | undefined) {
  const other: Direction = direction === 'back' ? 'forward' : 'back';
  return [
    {
      source: 'reached.id',
      next: 'l."toEntryId"',
      from: '"Link" l',
      where: `l."fromRevisionId" = ${latestOf('reached.id', asOf)} AND l."toEntryId" IS NOT NULL AND ${leads(direction)}`,
    },
    {
      source: 'r."entryId"',
      next: 'r."entryId"',
      from: '"Link" l JOIN "Revision" r ON r."id" = l."fromRevisionId"',
      where: `l."toEntryId" = reached.id AND ${leads(other)} AND ${isLatest('r', asOf)}`,
    },
  ] as const;
}

/** Rows as one JSON text, a list for each column. */
const asJson = (columns: readonly string[]): string =>
  `json_build_array(${columns.map((one) => asList(one)).join(', ')})::text`;

const ENTRIES = asJson(['e."id"', 'e."kind"', 'e."key"', 'r."name"', 'r."number"']);

const tiesFrom = (source: string): string =>
  asJson([source, 'l."toEntryId"', 'l."name"', 'l."massG"', 'l."count"', 'l."toRevision"']);

/**
 * Parameter: a list of entries as JSON. One row of three JSON texts: `entries`, these and everything that they go back to or
 * went into, with their latest names; and the ties that were walked over, from their source and from their target.
 * With an entry of the audit trail, from what was on record then.
 */
export function reachOf(direction: Direction, asOf?: number): string {
  const isEnd = isAmong(
    'l."name"',
    namesOf((name) => isEnding(name, direction)),
  );
  const [along, against] = waysOf(direction, asOf);
  const stepOf = ({ next, from, where }: typeof along | typeof against): string =>
    `SELECT ${next} AS id, NOT ${isEnd} AS open FROM ${from} WHERE ${where}`;
  const tiesOf = ({ source, from, where }: typeof along | typeof against): string =>
    `SELECT ${tiesFrom(source)} FROM (SELECT id FROM reached WHERE open) reached CROSS JOIN ${from} WHERE ${where}`;
  return `
WITH RECURSIVE reached(id, open) AS MATERIALIZED (
  SELECT value::bigint, true FROM ${texts('$1', 'wanted')}
  UNION
  SELECT step.id, step.open FROM reached CROSS JOIN LATERAL (
    ${stepOf(along)}
    UNION ALL
    ${stepOf(against)}) AS step
  WHERE reached.open
)
SELECT
  (SELECT ${ENTRIES}
   FROM reached JOIN "Entry" e ON e."id" = reached.id LEFT JOIN "Revision" r ON r."id" = ${latestOf('e."id"', asOf)}) AS entries,
  (${tiesOf(along)}) AS along,
  (${tiesOf(against)}) AS against`;
}

/** Parameter: a list of entries as JSON. Ties of superseded revisions that the latest one of their source has no more. */
export function earlierTies(direction: Direction, asOf?: number): string {
  const other: Direction = direction === 'back' ? 'forward' : 'back';
  const isGone = `NOT EXISTS (SELECT 1 FROM "Link" kept WHERE kept."fromRevisionId" = ${latestOf('r."entryId"', asOf)}
    AND kept."toEntryId" = l."toEntryId" AND kept."name" = l."name")`;
  const columns = `r."entryId" AS "source", l."name", r."number" AS "revision"`;
  return `
WITH wanted(value) AS MATERIALIZED (SELECT value::bigint FROM ${texts('$1', 'listed')})
SELECT ties.*, e."kind", e."key" FROM (
  SELECT wanted.value AS "near", l."toEntryId" AS "far", ${columns} FROM wanted
  JOIN "Revision" r ON r."entryId" = wanted.value JOIN "Link" l ON l."fromRevisionId" = r."id"
  WHERE ${isSuperseded('r', asOf)} AND l."toEntryId" IS NOT NULL AND ${leads(direction)} AND ${isGone}
  UNION ALL
  SELECT wanted.value, r."entryId", ${columns} FROM wanted
  JOIN "Link" l ON l."toEntryId" = wanted.value JOIN "Revision" r ON r."id" = l."fromRevisionId"
  WHERE ${isSuperseded('r', asOf)} AND ${leads(other)} AND ${isGone}
) ties JOIN "Entry" e ON e."id" = ties."far"
ORDER BY e."kind", e."key", ties."source", ties."name", ties."revision" DESC`;
}

/** Parameters: kind and key of an entry. What takes mass or pieces from it, a row for each tie. */
export const TAKERS = `
SELECT e."kind", e."key", r."digest", r."body" AS "text", l."massG", l."count"
FROM "Entry" source JOIN "Link" l ON l."toEntryId" = source."id"
  JOIN "Revision" r ON r."id" = l."fromRevisionId" JOIN "Entry" e ON e."id" = r."entryId"
WHERE source."kind" = $1 AND source."key" = $2 AND (l."massG" IS NOT NULL OR l."count" IS NOT NULL) AND ${isLatest('r')}
ORDER BY l."id"`;

/**
 * Parameters: an actor, and the bounds of the same through an account of the machine. Every revision that they took in, the
 * latest first; what they signed is told apart.
 */
export const REVISIONS_BY = `
SELECT e."kind", e."key", r."number" AS "revision", r."name", r."recordedAt"
FROM "Revision" r JOIN "Entry" e ON e."id" = r."entryId"
WHERE (r."actor" = $1 OR (r."actor" >= $2 AND r."actor" < $3)) AND e."kind" <> 'act'
ORDER BY r."id" DESC`;
