import type { CheckPhrases } from '../phrase.js';
import { stepText } from '../trade-codes.js';

export const loadsAccepted: CheckPhrases = {
  title: 'Coating and sterile loads accepted',
  asks: 'Was each coating and each sterilising load accepted by another person than the one who ran it?',
  recompute: `For each load as in loads-named of which the step is coat or sterilise, unless all parts of the lot in it were in a load of
the same step with a later "at": "not accepted" [blocks release], which leaves the check undecided, without an "approved" statement on
it by another person than "by". It acts on the implants of the specimens of the lot that were in it. One of a sterilise load keeps
nothing from release for sterilisation. Does not apply without such a load.`,
  basis: ({ loads }) => `loads that need acceptance: ${loads}`,
  doesNotApply: 'no part of the lot was coated or sterilised in a load',
  rules: {
    'not accepted': (facts) => ({
      says: `Load ${facts.load} (${stepText(facts.step)}), run by ${facts.by}, was accepted by nobody else.`,
      clearedBy: 'Quality engineer: look at cycle, indicators and report, and sign the load. Nobody concedes it.',
    }),
  },
};
