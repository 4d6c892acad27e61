import { openActions } from '../reviews.js';
import { type GapRule, ref } from './gap-rule.js';

export const actionLate: GapRule = {
  code: 'action-late',
  clause: 'ISO 13485:2016 7.3.5',
  find: (design) =>
    openActions(design)
      .filter(({ due }) => due < design.today)
      .map(({ review, what, who, due }) => ({
        subjects: [ref(review)],
        detail: what,
        facts: { what, who, due },
        by: due,
        owners: [who],
      })),
};
