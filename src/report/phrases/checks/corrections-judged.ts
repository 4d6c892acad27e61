import { timeText } from '../../../dossier/time-text.js';
import type { CheckPhrases } from '../phrase.js';

export const correctionsJudged: CheckPhrases = {
  title: 'Corrected certificates judged',
  asks: 'Where a certificate was corrected after the build, did people say what that means for each implant?',
  recompute: `For each build and each receipt that went into it with "corrects", and "issued" of its certificate after the calendar date
of "closedAt" as written there: "corrected after the build" [blocks release] for those implants of the build of which no "impact"
says "no effect" under "decisions", that is accepted as in section 9 by the digest of its revision, with "kind" "receipt" and "key" the
receipt under "cause". Not found where none is left of some. Does not apply when there is no such receipt.`,
  basis: ({ receipts }) => receipts,
  doesNotApply: 'no certificate was corrected after the build',
  rules: {
    'corrected after the build': (facts) => ({
      says: `The certificate ${facts.replaces} of ${facts.receipt} was replaced by ${facts.certificate} on ${facts.day}, after ${facts.build} was closed at ${timeText(facts.closedAt)}.`,
      clearedBy: `Quality engineer: open the impact of ${facts.receipt} and enter what it means; process and quality engineer sign it.`,
    }),
  },
};
