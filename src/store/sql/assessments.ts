export interface AssessedUnitsFields {
  readonly lot: string;
  readonly dossierDigest: string;
  /** JSON. */
  readonly units: string;
}

/** Units alone: whole assessments of thousands of lots are hundreds of megabytes. */
const UNITS = `
SELECT a."lot", a."dossierDigest", json_extract(a."body", '$.units') AS "units" FROM "Assessment" a
WHERE NOT EXISTS (SELECT 1 FROM "Assessment" later WHERE later."lot" = a."lot" AND later."ledgerSeq" > a."ledgerSeq")`;

/** What the latest assessment of each lot says of its units. */
export const UNITS_OF_ALL_LOTS = UNITS;

/** Parameter: lot. */
export const UNITS_OF_LOT = `${UNITS} AND a."lot" = ?`;
