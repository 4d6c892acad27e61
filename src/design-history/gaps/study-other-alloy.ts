import { strangeLots } from '../studies.js';
import { type GapRule, ref } from './gap-rule.js';

export const studyOtherAlloy: GapRule = {
  code: 'study-other-alloy',
  clause: 'ISO 13485:2016 7.3.6',
  find: (design) =>
    strangeLots(design).flatMap(({ study, lot, family, alloy }) =>
      alloy === undefined ? [] : [{ subjects: [ref(study), { kind: 'lot', key: lot }], facts: { lot, family, alloy } }],
    ),
};
