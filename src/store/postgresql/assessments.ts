/**
 * The current assessment of each lot: of its latest lot file, and of the asked version where there is one, else the
 * latest. An earlier version that comes back finds what it said, and not what a later one said meanwhile.
 */
const current = (columns: string): string => `
SELECT a."lot", a."dossierDigest", a."digest", a."version"${columns}
FROM "Dossier" d JOIN "Assessment" a ON a."lot" = d."lot" AND a."dossierDigest" = d."digest"
WHERE NOT EXISTS (SELECT 1 FROM "Dossier" later WHERE later."lot" = d."lot" AND later."ledgerSeq" > d."ledgerSeq")
  AND NOT EXISTS (
    SELECT 1 FROM "Assessment" other
    WHERE other."lot" = a."lot" AND other."dossierDigest" = a."dossierDigest" AND other."digest" <> a."digest"
      AND (other."version" = $1::text, other."ledgerSeq") > (a."version" = $1::text, a."ledgerSeq"))`;

/** Units, and the findings that stand against them: whole assessments of thousands of lots are hundreds of megabytes. */
const UNITS = `, (a."body"::json -> 'units')::text AS "units", coalesce((
    SELECT json_agg(json_build_object('code', c.value -> 'code', 'findings', c.value -> 'findings'))
    FROM json_array_elements(a."body"::json -> 'checks') AS c(value)
    WHERE json_array_length(c.value -> 'findings') > 0), '[]'::json)::text AS "checks"`;

export const UNITS_OF_ALL_LOTS = current(UNITS);

export const UNITS_OF_LOT = `${UNITS_OF_ALL_LOTS} AND d."lot" = $2`;

export const CURRENT_OF_LOT = `${current(', a."body"')} AND d."lot" = $2`;

/** Those first that were assessed last: somebody works on them. */
export const LAST_ASSESSED_BY_OTHERS = `
SELECT a."lot" FROM "Assessment" a
WHERE NOT EXISTS (SELECT 1 FROM "Assessment" later WHERE later."lot" = a."lot" AND later."ledgerSeq" > a."ledgerSeq")
  AND a."version" <> $1
ORDER BY a."ledgerSeq" DESC`;
