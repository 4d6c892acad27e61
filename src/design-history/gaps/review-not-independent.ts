import { type GapRule, ref } from './gap-rule.js';

export const reviewNotIndependent: GapRule = {
  code: 'review-not-independent',
  clause: 'ISO 13485:2016 7.3.5',
  find: (design) =>
    design
      .current('design-review')
      .filter(({ body }) => body.independent === undefined)
      .map((review) => ({ subjects: [ref(review)] })),
};
