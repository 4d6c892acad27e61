/**
 * The current assessment of each lot: of its latest lot file, and of the asked version where there is one, else the
 * latest. An earlier version that comes back finds what it said, and not what a later one said meanwhile.
 */
const current = (columns: string): string => `
WITH asked(version) AS (SELECT ?)
SELECT a."lot", a."dossierDigest", a."digest", a."version"${columns}
FROM asked, "Dossier" d JOIN "Assessment" a ON a."lot" = d."lot" AND a."dossierDigest" = d."digest"
WHERE NOT EXISTS (SELECT 1 FROM "Dossier" later WHERE later."lot" = d."lot" AND later."ledgerSeq" > d."ledgerSeq")
  AND NOT EXISTS (
    SELECT 1 FROM "Assessment" other
    WHERE other."lot" = a."lot" AND other."dossierDigest" = a."dossierDigest" AND other."digest" <> a."digest"
      AND (other."version" = asked.version, other."ledgerSeq") > (a."version" = asked.version, a."ledgerSeq"))`;

/** Units, and the findings that stand against them: whole assessments of thousands of lots are hundreds of megabytes. */
const UNITS = `, json_extract(a."body", '$.units') AS "units",
  (SELECT json_group_array(json_object('code', json_extract(c."value", '$.code'), 'findings', json_extract(c."value", '$.findings')))
   FROM json_each(a."body", '$.checks') c WHERE json_array_length(c."value", '$.findings') > 0) AS "checks"`;

export const UNITS_OF_ALL_LOTS = current(UNITS);

export const UNITS_OF_LOT = `${UNITS_OF_ALL_LOTS} AND d."lot" = ?`;

export const CURRENT_OF_LOT = `${current(', a."body"')} AND d."lot" = ?`;

/** Those first that were assessed last: somebody works on them. An index alone answers it. */
export const LAST_ASSESSED_BY_OTHERS = `
WITH asked(version) AS (SELECT ?)
SELECT a."lot" FROM asked, "Assessment" a
WHERE NOT EXISTS (SELECT 1 FROM "Assessment" later WHERE later."lot" = a."lot" AND later."ledgerSeq" > a."ledgerSeq")
  AND a."version" <> asked.version
ORDER BY a."ledgerSeq" DESC`;
