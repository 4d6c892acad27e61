import type { Direction } from '../questions.js';
import { isLatest } from './revisions.js';

/**
 * Recursive queries over links. UNION, not UNION ALL, and over entries alone, without the distance: else a blend of
 * blends multiplies its paths. Links run from what depends to what it depends on, so *back* follows them and *forward*
 * goes against them. Only the latest revision of an entry speaks for it. CROSS JOIN keeps SQLite to the order written,
 * from the few entries reached to their links: its planner would rather walk through all links.
 */
/** From the entries reached to their ties, in the direction of the walk. */
const walk: Record<Direction, { readonly next: string; readonly from: string }> = {
  back: {
    next: 'l."toEntryId"',
    from: `reached CROSS JOIN "Revision" r ON r."entryId" = reached.id
  CROSS JOIN "Link" l ON l."fromRevisionId" = r."id"`,
  },
  forward: {
    next: 'r."entryId"',
    from: `reached CROSS JOIN "Link" l ON l."toEntryId" = reached.id
  CROSS JOIN "Revision" r ON r."id" = l."fromRevisionId"`,
  },
};

/** Rows as one JSON text, a list for each row: handed over one by one they would cost several times the query. */
const asJson = (columns: readonly string[]): string => `json_group_array(json_array(${columns.join(', ')}))`;

const ENTRIES = asJson(['e."id"', 'e."kind"', 'e."key"', 'r."name"', 'r."number"']);

const TIES = asJson(['l."id"', 'r."entryId"', 'l."toEntryId"', 'l."name"', 'l."massG"', 'l."toRevision"']);

export const reachOf = (direction: Direction): string => `
WITH RECURSIVE reached(id) AS MATERIALIZED (
  SELECT CAST(? AS INTEGER)
  UNION
  SELECT ${walk[direction].next} FROM ${walk[direction].from}
  WHERE l."toEntryId" IS NOT NULL AND ${isLatest('r')}
)
SELECT
  (SELECT ${ENTRIES}
   FROM reached CROSS JOIN "Entry" e ON e."id" = reached.id CROSS JOIN "Revision" r ON r."entryId" = e."id"
   WHERE ${isLatest('r')}) AS entries,
  (SELECT ${TIES} FROM ${walk[direction].from}
   WHERE l."toEntryId" IS NOT NULL AND ${isLatest('r')}) AS ties`;

export const MASS_TAKERS = `
SELECT e."kind", e."key", r."digest", r."body" AS "text", l."massG"
FROM "Entry" source CROSS JOIN "Link" l ON l."toEntryId" = source."id"
  CROSS JOIN "Revision" r ON r."id" = l."fromRevisionId" CROSS JOIN "Entry" e ON e."id" = r."entryId"
WHERE source."kind" = ? AND source."key" = ? AND l."massG" IS NOT NULL AND ${isLatest('r')}
ORDER BY l."id"`;
