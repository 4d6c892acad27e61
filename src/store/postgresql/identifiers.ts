import { texts } from './listed.js';
import { isLatest } from './revisions.js';

/** Parameters: kinds, and a text as it stands in JSON. Their current documents that hold it as a value. */
export const ENTRIES_HOLDING = `
SELECT e."kind", e."key", r."digest", r."body" AS "text", r."ledgerSeq"
FROM "Entry" e JOIN "Revision" r ON r."entryId" = e."id"
WHERE e."kind" IN (SELECT value FROM ${texts('$1', 'kinds')}) AND strpos(r."body", $2::text) > 0 AND ${isLatest('r')}
ORDER BY e."kind", e."key"`;

const within = (column: string): string => `${column} >= $2::text AND ${column} < $3::text`;

/**
 * Parameters: a text, and the bounds of digests that begin with it, empty where it is not the beginning of one. What bears it
 * as a name or a digest, and of what it is. The name of personal data finds nothing: it may tell who the patient is.
 */
export const IDENTIFIED_BY = `
WITH files AS (
  SELECT v."sha256", v."fileName" FROM "Evidence" v WHERE v."fileName" = $1::text OR ${within('v."sha256"')})
SELECT DISTINCT * FROM (
  SELECT 'digest of a revision' AS "as", e."kind", e."key", r."digest" AS "detail", r."ledgerSeq"
  FROM "Revision" r JOIN "Entry" e ON e."id" = r."entryId" WHERE ${within('r."digest"')}
  UNION ALL
  SELECT 'digest of a signed act', e."kind", e."key", e."key", e."ledgerSeq"
  FROM "Entry" e WHERE e."kind" = 'act' AND ${within('e."key"')}
  UNION ALL
  SELECT 'digest of a lot file', 'lot', d."lot", d."digest", d."ledgerSeq"
  FROM "Dossier" d WHERE ${within('d."digest"')}
  UNION ALL
  SELECT 'digest of an assessment', 'lot', a."lot", a."digest", a."ledgerSeq"
  FROM "Assessment" a WHERE ${within('a."digest"')}
  UNION ALL
  SELECT 'log finding', 'build', f."build", f."identity", f."ledgerSeq"
  FROM "Finding" f WHERE ${within('f."identity"')}
  UNION ALL
  SELECT 'file', e."kind", e."key", files."fileName", r."ledgerSeq"
  FROM files JOIN "Link" l ON l."toEvidence" = files."sha256"
  JOIN "Revision" r ON r."id" = l."fromRevisionId" JOIN "Entry" e ON e."id" = r."entryId"
  WHERE l."name" <> 'personal data'
  UNION ALL
  SELECT 'record', 'lot', x."lot", x."number" || ' revision ' || x."revision", x."ledgerSeq"
  FROM "Record" x WHERE x."number" = $1::text OR ${within('x."fileSha256"')}
  UNION ALL
  SELECT 'program that assessed', 'lot', a."lot", a."program", a."ledgerSeq"
  FROM "Assessment" a WHERE a."program" = $1::text OR ${within('a."version"')}
) found
ORDER BY "as", "kind", "key", "ledgerSeq"`;

/** Parameter: numbers of entries. Their latest revisions. */
export const LATEST_OF_IDS = `
SELECT e."id", e."kind", e."key", r."digest", r."body" AS "text"
FROM "Entry" e JOIN "Revision" r ON r."entryId" = e."id"
WHERE e."id" IN (SELECT value::bigint FROM ${texts('$1', 'wanted')}) AND ${isLatest('r')}`;
