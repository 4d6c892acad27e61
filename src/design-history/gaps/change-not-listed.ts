import { type GapRule, ref } from './gap-rule.js';

export const changeNotListed: GapRule = {
  code: 'change-not-listed',
  clause: 'ISO 13485:2016 7.3.9',
  find: (design) =>
    design
      .current('design-change')
      .filter(({ body }) => body.decision === 'go' && body.touches === undefined)
      .map((change) => ({ subjects: [ref(change)] })),
};
