import { type GapRule, ref } from './gap-rule.js';

export const outputUnasked: GapRule = {
  code: 'output-unasked',
  clause: 'ISO 13485:2016 7.3.4',
  find: (design) =>
    design
      .current('design-output')
      .filter(({ body }) => body.meets === undefined)
      .map((output) => ({ subjects: [ref(output)] })),
};
