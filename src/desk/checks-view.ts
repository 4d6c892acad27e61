import type { CheckFinding, Subject } from '../assessment/assessment.js';
import { MOMENTS } from '../assessment/moment.js';
import { answerFor } from '../assessment/moments.js';
import type { AssessedLot } from '../lots/lot-assessor.js';
import { findingAnchor, resultAnchor } from '../report/anchors.js';
import { checkInWords } from '../report/assessment-words.js';
import { liftText } from '../report/phrases/lifts.js';
import { LOT_PAGE } from '../report/phrases/lot-page.js';
import { MOMENT_QUESTIONS, nothingHoldsBackText } from '../report/phrases/moments.js';

/** Where the evidence of a subject stands: an anchor on this page, or its trace. */
interface SubjectLink {
  readonly name: string;
  readonly anchor: string | null;
}

/** The checks under the moment at which each can first be asked, with the answer for that moment. */
export function checksView({ facts, assessment }: AssessedLot) {
  return MOMENTS.map((moment) => {
    const { units, releasable } = answerFor(facts, assessment, moment);
    return {
      moment,
      question: MOMENT_QUESTIONS[moment],
      answer: nothingHoldsBackText(releasable.length, units.length),
      checks: assessment.checks
        .filter((check) => check.moment === moment)
        .map((check) => {
          const words = checkInWords(check);
          return { ...words, findings: words.findings.map(findingView) };
        }),
    };
  });
}

function findingView<F extends CheckFinding>(finding: F) {
  return { ...finding, links: finding.subjects.map(linkOf), lifts: liftText(finding) };
}

function linkOf({ kind, key }: Subject): SubjectLink {
  if (kind === 'result') return { name: LOT_PAGE.subject(kind, key), anchor: resultAnchor(Number(key)) };
  if (kind === 'log finding' || kind === 'log finding group') {
    return { name: LOT_PAGE.subject(kind, key.slice(0, 12)), anchor: findingAnchor(key) };
  }
  if (kind === 'characteristic') return { name: key, anchor: `values ${key}` };
  return { name: key, anchor: null };
}
