import { type GapRule, ref } from './gap-rule.js';

/** Letters of a line of print: what is shorter says why in half a sentence at most. */
const A_LINE = 80;

export const rationaleThin: GapRule = {
  code: 'rationale-thin',
  clause: 'ISO 13485:2016 7.3.6',
  find: (design) =>
    design
      .current('design-study')
      .filter(({ body: { rationale } }) => !rationale.includes('\n') && rationale.length < A_LINE)
      .map((study) => ({ subjects: [ref(study)], facts: { rationale: study.body.rationale } })),
};
