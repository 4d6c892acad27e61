import { Assessment } from '../assessment/assessment.js';
import { ASSESSMENT_VERSION } from '../base/assessment-version.js';
import type { Reads } from '../store/repositories.js';
import { isOfEarlierVersion } from './assessed-units.js';
import type { AssessedLot } from './freeze.js';

/** The current assessment of a lot without the facts that it is of. */
export type CurrentAssessment = Pick<
  AssessedLot,
  'dossierSha256' | 'assessment' | 'assessmentSha256' | 'ofEarlierVersion'
>;

/** Undefined for a lot that was not assessed, or in a form of earlier versions that this one does not read. */
export async function currentAssessment(read: Reads, lot: string): Promise<CurrentAssessment | undefined> {
  const stored = await read.assessments.current(ASSESSMENT_VERSION, lot);
  if (!stored) return undefined;
  const ofEarlierVersion = isOfEarlierVersion(stored);
  const { success, data, error } = Assessment.safeParse(JSON.parse(stored.body));
  if (!success && !ofEarlierVersion) throw error;
  if (!success) return undefined;
  return { dossierSha256: stored.dossierDigest, assessmentSha256: stored.digest, assessment: data, ofEarlierVersion };
}
