import type { CheckFinding, Subject } from '../assessment/assessment.js';
import { MOMENTS, type Moment } from '../assessment/moment.js';
import { answerFor } from '../assessment/moments.js';
import type { AssessedLot } from '../lots/lot-assessor.js';
import { findingAnchor, resultAnchor } from '../report/anchors.js';
import { checkInWords } from '../report/assessment-words.js';

const QUESTION: Readonly<Record<Moment, string>> = {
  build: 'May we build?',
  sterilisation: 'May we sterilise?',
  release: 'May we release?',
};

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
      question: QUESTION[moment],
      answer: `Nothing holds back ${releasable.length} of ${units.length} implants`,
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
  if (kind === 'result') return { name: `result ${key}`, anchor: resultAnchor(Number(key)) };
  if (kind === 'log finding' || kind === 'log finding group') {
    return { name: `${kind} ${key.slice(0, 12)}`, anchor: findingAnchor(key) };
  }
  if (kind === 'characteristic') return { name: key, anchor: `values ${key}` };
  return { name: key, anchor: null };
}

function liftText({ mayBeDecided, decision }: CheckFinding): string {
  if (mayBeDecided === 'no') return 'No decision lifts it.';
  const what =
    mayBeDecided === 'decision'
      ? 'A signed decision lifts it'
      : 'A signed concession lets the unit go, its verdict stays';
  if (decision === null) return `${what}.`;
  return decision === 'half' ? `${what}: one of two has signed.` : `${what}: ${decision}.`;
}
