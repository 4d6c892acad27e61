import type { CheckPhrases } from '../phrase.js';
import { qualificationPhrases } from '../qualification.js';

export const testersQualified: CheckPhrases = {
  title: 'Analysts and whoever finished the parts qualified on the day',
  asks: 'Was each analyst qualified for the method, and each person for the step after the build, on that day?',
  basis: ({ people }) => people,
  doesNotApply: 'nothing was tested and no step was done yet',
  rules: qualificationPhrases,
};
