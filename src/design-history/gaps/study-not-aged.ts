import { type GapRule, ref } from './gap-rule.js';

export const studyNotAged: GapRule = {
  code: 'study-not-aged',
  clause: 'ISO 13485:2016 7.5.11',
  find: (design) =>
    design
      .current('design-study')
      .filter(({ body }) => body.purpose === 'shelf life' && body.aged === undefined)
      .map((study) => ({ subjects: [ref(study)] })),
};
