import { type GapRule, ref } from './gap-rule.js';

export const inputWithoutOutput: GapRule = {
  code: 'input-without-output',
  clause: 'ISO 13485:2016 7.3.4',
  find: (design) =>
    design
      .current('design-input')
      .filter((input) => design.naming('design-output', 'meets', input).length === 0)
      .map((input) => ({ subjects: [ref(input)] })),
};
