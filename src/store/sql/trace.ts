/**
 * Recursive queries over links. UNION, not UNION ALL: with the latter a blend of blends multiplies its paths.
 * Links run from what depends to what it depends on, so *back* follows them and *forward* goes against them.
 * Only the latest revision of an entry speaks for it.
 */
const CURRENT_LINKS = `
  SELECT r."entryId" AS source, l."toEntryId" AS target, l."name" AS name, l."massG" AS massG, l."toRevision" AS revision
  FROM "Link" l JOIN "Revision" r ON r."id" = l."fromRevisionId"
  WHERE l."toEntryId" IS NOT NULL
    AND r."number" = (SELECT MAX(n."number") FROM "Revision" n WHERE n."entryId" = r."entryId")`;

const reach = (from: 'source' | 'target', to: 'source' | 'target'): string => `
WITH RECURSIVE tie AS MATERIALIZED (${CURRENT_LINKS}),
reached(id, depth) AS (
  SELECT CAST(? AS INTEGER), 0
  UNION
  SELECT tie.${to}, reached.depth + 1 FROM reached JOIN tie ON tie.${from} = reached.id WHERE reached.depth < 40
)
SELECT id, MIN(depth) AS depth FROM reached GROUP BY id`;

/** Parameter: entry. Everything that it depends on, itself included, with the shortest distance. */
export const REACH_BACK = reach('source', 'target');

/** Parameter: entry. Everything that depends on it, itself included, with the shortest distance. */
export const REACH_FORWARD = reach('target', 'source');

/** Parameter: entries as a JSON list. The ties between them. */
export const TIES_BETWEEN = `
WITH wanted AS (SELECT value AS id FROM json_each(?))
SELECT source, target, name, massG, revision FROM (${CURRENT_LINKS})
WHERE source IN (SELECT id FROM wanted) AND target IN (SELECT id FROM wanted)`;

/** Parameter: entries as a JSON list. Their kind, key, and latest name. */
export const NAMES_OF = `
SELECT e."id" AS id, e."kind" AS kind, e."key" AS key, r."name" AS name, r."number" AS revision
FROM "Entry" e JOIN "Revision" r ON r."entryId" = e."id"
WHERE e."id" IN (SELECT value FROM json_each(?))
  AND r."number" = (SELECT MAX(n."number") FROM "Revision" n WHERE n."entryId" = e."id")`;
