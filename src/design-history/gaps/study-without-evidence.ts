import { lotsOf } from '../studies.js';
import { type GapRule, ref } from './gap-rule.js';

export const studyWithoutEvidence: GapRule = {
  code: 'study-without-evidence',
  clause: 'ISO 13485:2016 7.3.6',
  find: (design) =>
    design
      .current('design-study')
      .filter(
        ({ body }) => body.result !== 'open' && body.report?.file === undefined && lotsOf(design, body).length === 0,
      )
      .map((study) => ({ subjects: [ref(study)] })),
};
