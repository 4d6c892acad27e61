import { timeText } from '../../../dossier/time-text.js';
import { kindTitle } from '../../../kinds/catalogue.js';
import type { CheckPhrases } from '../phrase.js';

export const documentsNotWithdrawn: CheckPhrases = {
  title: 'No pinned document withdrawn for cause',
  asks: 'Is every document revision that this lot rests on still free of a withdrawal for cause?',
  basis: ({ pinned }) => `${pinned} pinned revisions`,
  rules: {
    'withdrawn for cause': ({ kind, document, at, by, reason }) => ({
      says: `${kindTitle(kind)} ${document} was withdrawn at ${timeText(at)} by ${by}: ${reason}`,
      clearedBy: 'Process and quality engineer: decide what the withdrawal means for this lot, with a rationale.',
    }),
  },
};
