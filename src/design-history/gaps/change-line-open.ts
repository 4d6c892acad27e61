import { type GapRule, ref } from './gap-rule.js';

export const changeLineOpen: GapRule = {
  code: 'change-line-open',
  clause: 'ISO 13485:2016 7.3.9',
  find: (design) =>
    design.current('design-change').flatMap((change) => {
      const { decision, touches } = change.body;
      const open = decision === 'stop' ? [] : (touches?.lines ?? []).filter(({ answer }) => answer === undefined);
      if (open.length === 0) return [];
      return [{ subjects: [ref(change)], facts: { lines: open.map(({ sort, key }) => `${sort} ${key}`).join(', ') } }];
    }),
};
