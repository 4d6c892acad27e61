import type { CheckPhrases } from '../phrase.js';
import { qualificationPhrases } from '../qualification.js';

export const testersQualified: CheckPhrases = {
  title: 'Analysts and whoever finished the parts qualified on the day',
  asks: 'Was each analyst qualified for the method, and each person for the step after the build, on that day?',
  recompute: `"by" of each step after the build has to be qualified for the step on the day of "at", and "analyst" of each
current row for the "operation" of the method, or for its code, on the day of measuredAt. Implants: "parts" of the step, all
without "parts"; those of the specimen. Does not apply without steps and rows.`,
  basis: ({ people }) => people,
  doesNotApply: 'nothing was tested and no step was done yet',
  rules: qualificationPhrases,
};
