import { isMet, triedBy } from '../studies.js';
import { type GapRule, ref } from './gap-rule.js';

export const needNotValidated: GapRule = {
  code: 'need-not-validated',
  clause: 'ISO 13485:2016 7.3.7',
  find: (design) =>
    design.current('user-need').flatMap((need) => {
      const studies = design.naming('design-study', 'validates', need);
      return studies.some(isMet) ? [] : [{ subjects: [ref(need)], facts: triedBy(studies) }];
    }),
};
