import { designsText } from '../designs.js';
import type { CheckPhrases } from '../phrase.js';

const clearedBy =
  'Nobody releases it: build the iteration that is asked for, or take in the case with the iteration that was built if it was written down wrongly.';

export const designStillCurrent: CheckPhrases = {
  title: 'Built iteration still current',
  asks: 'Was each implant built from the design iteration that its case asks for, and is there none after it?',
  recompute: `For each built design: "another iteration asked for" [blocks release] when "designIteration" of the case is
another; else "a later iteration" [blocks release] when the case file has a "case-design" of a higher revision.`,
  basis: designsText,
  rules: {
    'another iteration asked for': (facts) => ({
      says: `Iteration ${facts.iteration} was built for case ${facts.case}, which asks for iteration ${facts.asked}.`,
      clearedBy,
    }),
    'a later iteration': (facts) => ({
      says: `Iteration ${facts.iteration} was built for case ${facts.case}, and iteration ${facts.newest} was designed since.`,
      clearedBy,
    }),
  },
};
