import { timeText } from '../../../dossier/time-text.js';
import { kindText } from '../kinds.js';
import { type CheckPhrases, ifTold } from '../phrase.js';

export const documentsNotWithdrawn: CheckPhrases = {
  title: 'No pinned document withdrawn for cause',
  asks: 'Is every document revision that this lot rests on still free of a withdrawal for cause?',
  recompute: `"withdrawn for cause" (C) for each entry under "withdrawn" of dossier.json, with all implants, and for each
document under "withdrawn" of the case files, with the implants of the cases that list it.`,
  basis: ({ pinned }) => `${pinned} pinned revisions`,
  rules: {
    'withdrawn for cause': (facts) => ({
      says: `${kindText(facts.kind)} ${facts.document} was withdrawn at ${timeText(facts.at)} by ${facts.by}: ${
        ifTold(facts, 'reason') ?? 'the reason stands with the facts of its case'
      }`,
      clearedBy: 'Process and quality engineer: decide what the withdrawal means for this lot, with a rationale.',
    }),
  },
};
