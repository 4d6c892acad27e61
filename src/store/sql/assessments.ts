export interface AssessedUnitsFields {
  readonly lot: string;
  readonly dossierDigest: string;
  /** JSON. */
  readonly units: string;
  /** JSON: code and findings of each check that has some. */
  readonly checks: string;
}

/** Units, and the findings that stand against them: whole assessments of thousands of lots are hundreds of megabytes. */
const UNITS = `
SELECT a."lot", a."dossierDigest", json_extract(a."body", '$.units') AS "units",
  (SELECT json_group_array(json_object('code', json_extract(c."value", '$.code'), 'findings', json_extract(c."value", '$.findings')))
   FROM json_each(a."body", '$.checks') c WHERE json_array_length(c."value", '$.findings') > 0) AS "checks"
FROM "Assessment" a
WHERE NOT EXISTS (SELECT 1 FROM "Assessment" later WHERE later."lot" = a."lot" AND later."ledgerSeq" > a."ledgerSeq")`;

/** What the latest assessment of each lot says of its units, and by which findings. */
export const UNITS_OF_ALL_LOTS = UNITS;

/** Parameter: lot. */
export const UNITS_OF_LOT = `${UNITS} AND a."lot" = ?`;
