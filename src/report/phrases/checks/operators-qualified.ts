import type { CheckPhrases } from '../phrase.js';
import { qualificationPhrases } from '../qualification.js';

export const operatorsQualified: CheckPhrases = {
  title: 'Operators qualified on the day of the build',
  asks: 'Was whoever ran each build qualified for that machine on that day?',
  basis: ({ people }) => people,
  rules: qualificationPhrases,
};
