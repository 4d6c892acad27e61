import type { Assessment, CheckFinding, Subject } from '../assessment/assessment.js';
import { MOMENTS } from '../assessment/moment.js';
import { answerFor } from '../assessment/moments.js';
import type { AssessedLot } from '../lots/lot-assessor.js';
import { characteristicAnchor, checkAnchor, findingAnchor, resultAnchor } from '../report/anchors.js';
import { checkInWords } from '../report/assessment-words.js';
import { findAddress, lotAnchorAddress, nonconformityAddress } from '../report/page-addresses.js';
import { concededText, liftText } from '../report/phrases/lifts.js';
import { LOT_PAGE } from '../report/phrases/lot-page.js';
import { MOMENT_QUESTIONS, nothingHoldsBackText } from '../report/phrases/moments.js';

/** Where the evidence of a subject stands: a place on the pages of the lot, or what is found under its identifier. */
interface SubjectLink {
  readonly name: string;
  readonly to: string;
}

/** The checks under the moment at which each can first be asked, with the answer for that moment. */
export function checksView({ facts, assessment }: AssessedLot) {
  const conceded = concededIn(assessment);
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
          return {
            ...words,
            anchor: checkAnchor(check.code),
            findings: together(
              facts.lot.body.lot,
              words.findings.map((finding) => findingView(facts.lot.body.lot, finding, conceded)),
            ),
          };
        }),
    };
  });
}

/** Implants that go by a concession, by the finding and their serial. */
const concededIn = ({ units }: Assessment): ReadonlySet<string> =>
  new Set(
    units.flatMap(({ serial, why }) => why.filter((one) => one.conceded).map(({ finding }) => `${finding} ${serial}`)),
  );

function findingView<F extends CheckFinding & { readonly clearedBy: string }>(
  lot: string,
  finding: F,
  conceded: ReadonlySet<string>,
) {
  const links = finding.subjects.map((subject) => linkOf(lot, subject));
  const { id, units } = finding;
  if (units.length > 0 && units.every((serial) => conceded.has(`${id} ${serial}`))) {
    return { ...finding, links, clearedBy: concededText(units), lifts: '', isLetGo: true };
  }
  return { ...finding, links, lifts: liftText(finding), isLetGo: false };
}

interface Told {
  readonly effect: string;
  readonly units: readonly string[];
  readonly clearedBy: string;
  readonly lifts: string;
  /** By a concession: its nonconformity is there, and nobody is asked for another. */
  readonly isLetGo: boolean;
}

interface FoundTold extends Told {
  readonly id: string;
  readonly says: string;
  readonly links: readonly SubjectLink[];
}

/** Findings on the same implants that are cleared in the same way, told in one. */
function together(lot: string, found: readonly FoundTold[]) {
  const groups = new Map<
    string,
    Told & { readonly says: string[]; readonly links: SubjectLink[]; readonly ids: string[] }
  >();
  for (const { id, effect, units, clearedBy, lifts, isLetGo, says, links } of found) {
    const key = JSON.stringify([effect, units, clearedBy, lifts]);
    const known = groups.get(key) ?? { effect, units, clearedBy, lifts, isLetGo, says: [], links: [], ids: [] };
    groups.set(key, known);
    known.says.push(says);
    known.ids.push(id);
    for (const link of links) if (!known.links.some(({ to }) => to === link.to)) known.links.push(link);
  }
  return [...groups.values()].map(({ ids, ...group }) => ({
    ...group,
    open: group.isLetGo ? undefined : nonconformityAddress(lot, ids),
  }));
}

function linkOf(lot: string, { kind, key }: Subject): SubjectLink {
  const at = (anchor: string) => lotAnchorAddress(lot, anchor);
  if (kind === 'result') return { name: LOT_PAGE.subject(kind, key), to: at(resultAnchor(Number(key))) };
  if (kind === 'log finding' || kind === 'log finding group') {
    return { name: LOT_PAGE.subject(kind, key.slice(0, 12)), to: at(findingAnchor(key)) };
  }
  if (kind === 'characteristic') return { name: key, to: at(characteristicAnchor(key)) };
  return { name: key, to: findAddress(key) };
}
