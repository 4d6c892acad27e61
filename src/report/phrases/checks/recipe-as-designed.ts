import { designsText } from '../designs.js';
import { type CheckPhrases, CONCEDE } from '../phrase.js';

export const recipeAsDesigned: CheckPhrases = {
  title: 'Planned recipe is the one that was built',
  asks: 'Was each implant built by the recipe that its design planned?',
  basis: designsText,
  doesNotApply: 'no design is on record',
  rules: {
    'built by another recipe': (facts) => ({
      says: `Iteration ${facts.iteration} of the design for case ${facts.case} planned recipe ${facts.planned}; it was built by ${facts.used}.`,
      clearedBy: CONCEDE,
    }),
  },
};
