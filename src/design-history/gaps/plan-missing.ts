import type { GapRule } from './gap-rule.js';

export const planMissing: GapRule = {
  code: 'plan-missing',
  clause: 'ISO 13485:2016 7.3.2',
  find: (design) =>
    design.current('design-plan').length > 0 ? [] : [{ subjects: [{ kind: 'family', key: design.family }] }],
};
