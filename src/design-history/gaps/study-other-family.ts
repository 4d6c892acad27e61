import { strangeLots } from '../studies.js';
import { type GapRule, ref } from './gap-rule.js';

export const studyOtherFamily: GapRule = {
  code: 'study-other-family',
  clause: 'ISO 13485:2016 7.3.6',
  find: (design) =>
    strangeLots(design)
      .filter(({ alloy }) => alloy === undefined)
      .map(({ study, lot, family }) => ({
        subjects: [ref(study), { kind: 'lot', key: lot }],
        facts: { lot, family },
      })),
};
