import type { CheckPhrases } from '../phrase.js';
import { qualificationPhrases } from '../qualification.js';

export const operatorsQualified: CheckPhrases = {
  title: 'Operators qualified on the day of the build',
  asks: 'Was whoever ran each build qualified for that machine on that day?',
  recompute: `"operator" of each build has to be qualified, on the day of "closedAt", for the "operation" of the machine, or
for the code of the machine where it names none. Implants: those of the build.`,
  basis: ({ people }) => people,
  rules: qualificationPhrases,
};
