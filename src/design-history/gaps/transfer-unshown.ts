import { type GapRule, ref } from './gap-rule.js';

export const transferUnshown: GapRule = {
  code: 'transfer-unshown',
  clause: 'ISO 13485:2016 7.3.8',
  find: (design) =>
    design
      .current('design-transfer')
      .filter(({ body }) => body.shownBy === undefined)
      .map((transfer) => ({ subjects: [ref(transfer)] })),
};
