import { z } from 'zod';
import { assess } from '../assessment/assess.js';
import { ASSESSMENT_VERSION } from '../base/assessment-version.js';
import { programName } from '../base/settings.js';
import type { Facts } from '../dossier/facts.js';
import { firstDifference } from './first-difference.js';
import { jsonOf } from './read-carried.js';
import type { Steps, VerifyReport } from './report.js';

/** What is read of an assessment that any version may have written. */
const Attached = z.looseObject({
  version: z.string(),
  units: z.array(z.looseObject({ serial: z.string(), verdict: z.string() })),
});

/**
 * Assesses the lot file again and compares verdicts exactly, numbers to one unit of the ninth significant digit.
 * Another version may honestly come to something else; the very rules that are said to have assessed it may not.
 * @returns the units with the attached verdict, and with that of now where it is another one.
 */
export function checkAssessment(assessmentText: string, facts: Facts, steps: Steps): VerifyReport['units'] {
  const parsed = Attached.safeParse(jsonOf(assessmentText));
  if (!parsed.success) {
    steps.broken('assessment', 'it is of a form that this program does not know');
    return [];
  }
  const attached = parsed.data;
  const again = assessAgain(facts, steps);
  if (!again) return attached.units.map(({ serial, verdict }) => ({ serial, verdict }));
  const difference = firstDifference({ ...attached, version: '' }, { ...again, version: '' });
  if (difference === undefined) {
    steps.holds('assessment', 'computed again from the lot file: the same verdicts and numbers');
  } else if (attached.version === ASSESSMENT_VERSION) {
    steps.broken(
      'assessment',
      `not what the rules of version ${ASSESSMENT_VERSION} come to. First difference: ${difference}`,
    );
  } else {
    const says = `rules of version ${attached.version} assessed it; ${programName()}, rules of version ${ASSESSMENT_VERSION}, assesses differently. First difference: ${difference}`;
    steps.differs('assessment', says);
  }
  return attached.units.map(({ serial, verdict }) => {
    const now = again.units.find((item) => item.serial === serial)?.verdict ?? 'unknown';
    return { serial, verdict, ...(now === verdict ? {} : { now }) };
  });
}

function assessAgain(facts: Facts, steps: Steps) {
  try {
    return assess(facts, ASSESSMENT_VERSION);
  } catch (error) {
    // A forged lot file may hold together and still say what no intake would have let in.
    return steps.broken('assessment', `the lot file cannot be assessed: ${(error as Error).message}`);
  }
}
