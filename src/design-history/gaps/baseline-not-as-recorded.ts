import { type GapRule, ref } from './gap-rule.js';

export const baselineNotAsRecorded: GapRule = {
  code: 'baseline-not-as-recorded',
  clause: 'ISO 13485:2016 7.3.10',
  find: (design) =>
    design.current('baseline').flatMap((baseline) => {
      const others = baseline.body.members.filter((member) => design.revision(member)?.digest !== member.digest);
      if (others.length === 0) return [];
      const documents = others.map(({ key, revision }) => `${key} revision ${revision}`).join(', ');
      return [{ subjects: [ref(baseline)], facts: { documents } }];
    }),
};
