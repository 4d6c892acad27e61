import { type GapRule, ref } from './gap-rule.js';

export const needWithoutInput: GapRule = {
  code: 'need-without-input',
  clause: 'ISO 13485:2016 7.3.3',
  find: (design) =>
    design
      .current('user-need')
      .filter((need) => design.naming('design-input', 'meets', need).length === 0)
      .map((need) => ({ subjects: [ref(need)] })),
};
