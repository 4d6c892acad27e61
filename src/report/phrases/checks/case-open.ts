import { timeText } from '../../../dossier/time-text.js';
import type { CheckPhrases } from '../phrase.js';

const clearedBy =
  'Nobody releases it: reject the implant, or take in the case as open again if it was cancelled by mistake.';

export const caseOpen: CheckPhrases = {
  title: 'Case not cancelled',
  asks: 'Is the case of each implant still wanted?',
  basis: ({ cases }) => `cases: ${cases}`,
  rules: {
    cancelled: (facts) => ({
      says: `Case ${facts.case} was cancelled at ${timeText(facts.at)} by ${facts.by}.`,
      clearedBy,
    }),
    'built although cancelled': (facts) => ({
      says: `Case ${facts.case} was cancelled at ${timeText(facts.at)} by ${facts.by}, and its implant was built after that.`,
      clearedBy,
    }),
  },
};
