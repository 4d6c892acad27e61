import type { GapRule } from './gap-rule.js';

export const historyMissing: GapRule = {
  code: 'history-missing',
  clause: 'ISO 13485:2016 7.3.10',
  find: (design) => (design.hasHistory ? [] : [{ subjects: [{ kind: 'family', key: design.family }] }]),
};
