import { timeText } from '../../../dossier/time-text.js';
import type { CheckPhrases } from '../phrase.js';

const clearedBy =
  'Nobody releases it: reject the implant, or take in the case as open again if it was cancelled by mistake.';

export const caseOpen: CheckPhrases = {
  title: 'Case not cancelled',
  asks: 'Is the case of each implant still wanted?',
  recompute: `In a case file the document of kind "case" with its code is the case. Built design: the implants of a case with one
"designIteration", with the earliest "closedAt" of the builds in which they were made ("built"). Laws of a case: "laws" of the
family, of these only the one with "law" equal to "usedUnder" of the case where that is given; without "laws", "usedUnder" with
the "route" of the family; else none. For each built design of a case of which "status" "is" cancelled: "cancelled" [blocks
release], or "built although cancelled" [blocks release] when "built" lies after the "at" of the status.`,
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
