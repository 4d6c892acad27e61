import { z } from 'zod';
import { assess } from '../assessment/assess.js';
import { CHECKS_OF_CASES } from '../assessment/checks/catalogue.js';
import { ASSESSMENT_VERSION } from '../base/assessment-version.js';
import { LaterFormError } from '../base/errors.js';
import { programName } from '../base/settings.js';
import type { Facts } from '../dossier/facts.js';
import { firstDifference } from './first-difference.js';
import { jsonOf } from './read-carried.js';
import type { Steps } from './report.js';

/** An implant with the attached verdict, and with that of now where it is another one. */
export interface AssessedUnit {
  readonly serial: string;
  readonly verdict: string;
  readonly now?: string;
}

/** What is read of an assessment that any version may have written. */
const Attached = z.looseObject({
  version: z.string(),
  units: z.array(z.looseObject({ serial: z.string(), verdict: z.string() })),
});

/**
 * Assesses the lot file again and compares verdicts exactly, numbers to one unit of the ninth significant digit.
 * Another version may honestly come to something else; the very rules that are said to have assessed it may not.
 */
export function checkAssessment(assessmentText: string, facts: Facts, steps: Steps): AssessedUnit[] {
  const parsed = Attached.safeParse(jsonOf(assessmentText));
  if (!parsed.success) {
    steps.broken('assessment', { code: 'assessment of unknown form' });
    return [];
  }
  const attached = parsed.data;
  const again = assessAgain(facts, steps);
  if (!again) return attached.units.map(({ serial, verdict }) => ({ serial, verdict }));
  const [was, is] = [attached, again].map((one) => seenBy(facts, { ...one, version: '' }));
  const isOfTheseRules = attached.version === ASSESSMENT_VERSION;
  const difference = firstDifference(was, is, isOfTheseRules ? 'all' : 'attached');
  if (difference === undefined) {
    steps.holds('assessment', { code: 'assessed alike' });
  } else if (isOfTheseRules) {
    steps.broken('assessment', { code: 'assessment altered', facts: { version: ASSESSMENT_VERSION, difference } });
  } else {
    const rules = { attached: attached.version, program: programName(), version: ASSESSMENT_VERSION };
    steps.differs('assessment', { code: 'other rules', facts: { ...rules, difference } });
  }
  return attached.units.map(({ serial, verdict }) => {
    const now = again.units.find((item) => item.serial === serial)?.verdict ?? 'unknown';
    return { serial, verdict, ...(now === verdict ? {} : { now }) };
  });
}

/** What checks say that look at cases, in whatever version. */
const SeenByCase = z.looseObject({
  checks: z.array(
    z.looseObject({ code: z.string(), findings: z.array(z.looseObject({ units: z.array(z.string()) })) }),
  ),
  units: z.array(z.looseObject({ serial: z.string() })),
  releasable: z.array(z.string()),
});

/**
 * What can be computed again from these facts. Where cases are withheld, that is nothing of their implants: neither their
 * verdicts, nor what was found against them in their own documents.
 */
function seenBy({ lot, withheldCases }: Facts, assessment: unknown): unknown {
  const parsed = SeenByCase.safeParse(assessment);
  if (withheldCases.length === 0 || !parsed.success) return assessment;
  const { checks, units, releasable } = parsed.data;
  const shown = new Set(
    lot.body.implants.filter((implant) => !withheldCases.includes(implant.case)).map(({ serial }) => serial),
  );
  return {
    ...parsed.data,
    checks: checks.map((check) => {
      if (!CHECKS_OF_CASES.has(check.code)) return check;
      const { outcome, basis, claims, ...rest } = check;
      const findings = check.findings.map((finding) => ({
        ...finding,
        units: finding.units.filter((serial) => shown.has(serial)),
      }));
      return { ...rest, findings: findings.filter((finding) => finding.units.length > 0) };
    }),
    units: units.filter(({ serial }) => shown.has(serial)),
    releasable: releasable.filter((serial) => shown.has(serial)),
  };
}

function assessAgain(facts: Facts, steps: Steps) {
  try {
    return assess(facts, ASSESSMENT_VERSION);
  } catch (error) {
    if (error instanceof LaterFormError) return steps.notKnown('assessment', { code: 'lot file not read' });
    // A forged lot file may hold together and still say what no intake would have let in.
    return steps.broken('assessment', { code: 'lot file not assessable' });
  }
}
