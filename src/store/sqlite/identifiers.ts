import { isLatest } from './revisions.js';

/** Parameters: kinds, and a text as it stands in JSON. Their current documents that hold it as a value. */
export const ENTRIES_HOLDING = `
WITH asked(kinds, text) AS (SELECT ?, ?)
SELECT e."kind", e."key", r."digest", r."body" AS "text", r."ledgerSeq"
FROM asked CROSS JOIN json_each(asked.kinds) AS kind CROSS JOIN "Entry" e ON e."kind" = kind.value
CROSS JOIN "Revision" r ON r."entryId" = e."id"
WHERE instr(r."body", asked.text) > 0 AND ${isLatest('r')}
ORDER BY e."kind", e."key"`;

const within = (column: string): string => `${column} >= digits AND ${column} < before`;

/**
 * Parameters: a text, and the bounds of digests that begin with it, empty where it is not the beginning of one. What bears it
 * as a name or a digest, and of what it is. The name of personal data finds nothing: it may tell who the patient is.
 */
export const IDENTIFIED_BY = `
WITH asked(text, digits, before) AS (SELECT ?, ?, ?),
  files AS (
    SELECT v."sha256", v."fileName" FROM asked CROSS JOIN "Evidence" v
    WHERE v."fileName" = text OR ${within('v."sha256"')})
SELECT DISTINCT * FROM (
  SELECT 'digest of a revision' AS "as", e."kind", e."key", r."digest" AS "detail", r."ledgerSeq"
  FROM asked CROSS JOIN "Revision" r ON ${within('r."digest"')} CROSS JOIN "Entry" e ON e."id" = r."entryId"
  UNION ALL
  SELECT 'digest of a signed act', e."kind", e."key", e."key", e."ledgerSeq"
  FROM asked CROSS JOIN "Entry" e ON e."kind" = 'act' AND ${within('e."key"')}
  UNION ALL
  SELECT 'digest of a lot file', 'lot', d."lot", d."digest", d."ledgerSeq"
  FROM asked CROSS JOIN "Dossier" d ON ${within('d."digest"')}
  UNION ALL
  SELECT 'digest of an assessment', 'lot', a."lot", a."digest", a."ledgerSeq"
  FROM asked CROSS JOIN "Assessment" a ON ${within('a."digest"')}
  UNION ALL
  SELECT 'log finding', 'build', f."build", f."identity", f."ledgerSeq"
  FROM asked CROSS JOIN "Finding" f ON ${within('f."identity"')}
  UNION ALL
  SELECT 'file', e."kind", e."key", files."fileName", r."ledgerSeq"
  FROM files CROSS JOIN "Link" l ON l."toEvidence" = files."sha256"
  CROSS JOIN "Revision" r ON r."id" = l."fromRevisionId" CROSS JOIN "Entry" e ON e."id" = r."entryId"
  WHERE l."name" <> 'personal data'
  UNION ALL
  SELECT 'record', 'lot', x."lot", x."number" || ' revision ' || x."revision", x."ledgerSeq"
  FROM asked CROSS JOIN "Record" x WHERE x."number" = text OR ${within('x."fileSha256"')}
  UNION ALL
  SELECT 'program that assessed', 'lot', a."lot", a."program", a."ledgerSeq"
  FROM asked CROSS JOIN "Assessment" a WHERE a."program" = text OR ${within('a."version"')}
)
ORDER BY "as", "kind", "key", "ledgerSeq"`;

/** Parameter: numbers of entries. Their latest revisions. */
export const LATEST_OF_IDS = `
SELECT e."id", e."kind", e."key", r."digest", r."body" AS "text"
FROM json_each(?) AS wanted CROSS JOIN "Entry" e ON e."id" = wanted.value
CROSS JOIN "Revision" r ON r."entryId" = e."id"
WHERE ${isLatest('r')}`;
