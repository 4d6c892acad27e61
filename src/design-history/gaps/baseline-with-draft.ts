import { type GapRule, ref } from './gap-rule.js';

export const baselineWithDraft: GapRule = {
  code: 'baseline-with-draft',
  clause: 'ISO 13485:2016 7.3.10',
  find: (design) =>
    design.current('baseline').flatMap((baseline) => {
      const drafts = baseline.body.members.filter((member) => design.revision(member)?.approvedBy === null);
      if (drafts.length === 0) return [];
      const documents = drafts.map(({ key, revision }) => `${key} revision ${revision}`).join(', ');
      return [{ subjects: [ref(baseline)], facts: { documents } }];
    }),
};
