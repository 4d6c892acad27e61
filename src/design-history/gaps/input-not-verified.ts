import { isMet, triedBy, verifying } from '../studies.js';
import { type GapRule, ref } from './gap-rule.js';

export const inputNotVerified: GapRule = {
  code: 'input-not-verified',
  clause: 'ISO 13485:2016 7.3.6',
  find: (design) =>
    design.current('design-input').flatMap((input) => {
      const studies = verifying(design, input);
      return studies.some(isMet) ? [] : [{ subjects: [ref(input)], facts: triedBy(studies) }];
    }),
};
