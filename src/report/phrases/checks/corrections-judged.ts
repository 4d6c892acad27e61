import { timeText } from '../../../dossier/time-text.js';
import type { CheckPhrases } from '../phrase.js';

export const correctionsJudged: CheckPhrases = {
  title: 'Corrected certificates judged',
  asks: 'Where a certificate was corrected after the build, did people say what that means for each implant?',
  recompute: `For each build and each receipt that went into it with "corrects", and "issued" of its certificate after the calendar date
of "closedAt" as written there: "corrected after the build" [blocks release] for those implants of the build of which no "impact"
says "no effect" under "decisions", that is accepted as in section 9 by the digest of its revision, with "kind" "receipt" and "key" the
receipt under "cause". Not found where none is left of some. For each implant built on a stock part, as in "stock-part-accepted",
that was an implant: its entry of "origins" in stock-parts.json and those on which that was built; of each, under "corrected", those
with "issued" after the calendar date of "closedAt" there: "corrected after what it is built on" [blocks release] for the implant
of the lot, decided in the same way. Does not apply when there is no such certificate.`,
  basis: ({ receipts }) => receipts,
  doesNotApply: 'no certificate was corrected after the build, nor after one of a part that was built on',
  rules: {
    'corrected after the build': (facts) => ({
      says: `The certificate ${facts.replaces} of ${facts.receipt} was replaced by ${facts.certificate} on ${facts.day}, after ${facts.build} was closed at ${timeText(facts.closedAt)}.`,
      clearedBy: `Quality engineer: open the impact of ${facts.receipt} and enter what it means; process and quality engineer sign it.`,
    }),
    'corrected after what it is built on': (facts) => ({
      says: `The certificate ${facts.replaces} of ${facts.receipt} was replaced by ${facts.certificate} on ${facts.day}, after ${facts.build} was closed at ${timeText(facts.closedAt)}, in which ${facts.was} was made. ${facts.implant} is built on that, as stock part ${facts.stockPart}.`,
      clearedBy: `Quality engineer: open the impact of ${facts.receipt} and enter what it means for ${facts.implant}; process and quality engineer sign it.`,
    }),
  },
};
