import { timeText } from '../dossier/time-text.js';
import type { AssessedLot } from '../lots/lot-assessor.js';
import { recordGoes } from '../lots/lot-line.js';
import { claimWords } from '../report/assessment-words.js';

export interface RecordRow {
  readonly number: string;
  readonly revision: number;
  readonly recordedAt: string;
  readonly fileSha256: string;
  readonly enclosure: string;
  readonly dossierDigest: string;
}

/** What was issued, signed and received for a lot. */
export function lotPapersView({ facts, assessment, dossierSha256 }: AssessedLot, records: readonly RecordRow[]) {
  return {
    dossierSha256,
    asOf: timeText(facts.dossier.asOf.at),
    family: facts.family,
    specification: facts.specification,
    recipes: [...facts.recipes.keys()],
    claims: assessment.checks.flatMap((check) =>
      check.claims.map((claim) => ({ ...claim, says: claimWords(claim), at: timeText(claim.at) })),
    ),
    evidence: facts.evidence,
    records: recordLines(records),
  };
}

/** Latest first. */
export const recordLines = (records: readonly RecordRow[]) =>
  [...records].reverse().map(({ enclosure, ...record }) => ({
    ...record,
    ...recordGoes(enclosure),
    recordedAt: timeText(record.recordedAt),
  }));
