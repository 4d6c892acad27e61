import type { ReleaseStep } from '../../dossier/release-step.js';
import { releaseStepText } from './release-steps.js';

/** Words of the head of a lot, which stands on each of its pages. */

/** How many implants stand how, in the one sentence that says what may leave. */
export interface LotCounts {
  readonly released: Readonly<Record<ReleaseStep, number>>;
  readonly rejected: number;
  readonly mayBeReleased: number;
  readonly mayNot: number;
  readonly notAssessed: number;
}

const some = (count: number, says: string): string[] => (count === 0 ? [] : [`${count} ${says}`]);

/** `2 may be released, 1 may not`. */
export function lotSentence({ released, rejected, mayBeReleased, mayNot, notAssessed }: LotCounts): string {
  const parts = [
    ...some(released.distribution, `released for ${releaseStepText('distribution')}`),
    ...some(released.sterilisation, `released for ${releaseStepText('sterilisation')}`),
    ...some(rejected, 'rejected'),
    ...some(mayBeReleased, 'may be released'),
    ...some(mayNot, 'may not'),
    ...some(notAssessed, 'not assessed yet'),
  ];
  if (mayNot > 0 && mayBeReleased === 0) return parts.join(', ').replace(/ may not\b/, ' may not be released');
  return parts.length === 0 ? 'No implants' : parts.join(', ');
}

export const LOT_MOVES = {
  left: (told: ToldMove) => `${told.parts.join(', ')} went on in another lot at ${told.at}, by move ${told.move}:`,
  came: (told: ToldMove) =>
    `${told.parts.join(', ')} came over at ${told.at}, by move ${told.move}, from the lot in which it was built:`,
};

interface ToldMove {
  readonly parts: readonly string[];
  readonly move: string;
  readonly at: string;
}

export const LOT_STAGE_WORDS = {
  planned: 'planned',
  built: 'built',
  tested: 'tested',
  reviewed: 'reviewed',
  released: 'released',
  sent: 'sent',
};

export const LOT_PAGE_TITLES = {
  summary: 'Summary',
  build: 'Build',
  tests: 'Tests',
  materials: 'Materials',
  checks: 'Checks',
  papers: 'Papers',
};

export const NEXT_STEP = {
  assess: { says: 'Not assessed yet: nothing is proposed for its implants.', button: 'Freeze and assess this lot' },
  built: { says: 'Planned: nothing is built of it yet.', button: 'Enter what was built' },
  results: { says: 'Built: results are still to come.', button: 'Type the results' },
  assessAgain: {
    says: 'Facts came in since it was assessed. What stands here is the lot as it was frozen last.',
    button: 'Freeze and assess it again',
  },
  earlierVersion: { says: 'An earlier version of the program assessed it.', button: 'Freeze and assess it again' },
  changedVerdicts: { says: 'This version of the program changed verdicts.', button: 'Look at the changed verdicts' },
  issue: { says: 'Every implant is decided.', button: 'Go to the record' },
  done: 'Nothing is left to do: every implant is decided, and the record is issued.',
  closedNoRecord: 'Every implant is decided. No record was issued since.',
  nothing: 'Nothing waits for a signature. What stands in the way is told below.',
  waitsFor: (people: string, act: string) => `It waits for ${people}: ${act}.`,
  waitsForNobody: (act: string) => `It waits for somebody who may ${act}, and nobody may at present.`,
};
