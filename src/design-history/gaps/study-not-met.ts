import { type GapRule, ref } from './gap-rule.js';

export const studyNotMet: GapRule = {
  code: 'study-not-met',
  clause: 'ISO 13485:2016 7.3.6',
  find: (design) =>
    design
      .current('design-study')
      .filter(({ body }) => body.result === 'not met')
      .map((study) => ({ subjects: [ref(study)] })),
};
