import { designsText } from '../designs.js';
import { type CheckPhrases, CONCEDE } from '../phrase.js';

export const recipeAsDesigned: CheckPhrases = {
  title: 'Planned recipe is the one that was built',
  asks: 'Was each implant built by the recipe that its design planned?',
  recompute: `For each built design with a design: "built by another recipe" (C) with its implants of which no recipe, their own or
one of "alsoIn", is the "recipe" of the design in its revision. Does not apply without a design.`,
  basis: designsText,
  doesNotApply: 'no design is on record',
  rules: {
    'built by another recipe': (facts) => ({
      says: `Iteration ${facts.iteration} of the design for case ${facts.case} planned recipe ${facts.planned}; it was built by ${facts.used}.`,
      clearedBy: CONCEDE,
    }),
  },
};
