import { daysAfter, SOON_DAYS } from '../days.js';
import { approvedScopes } from '../suppliers.js';
import type { GapRule } from './gap-rule.js';

export const supplierApprovalEnds: GapRule = {
  code: 'supplier-approval-ends',
  clause: 'ISO 13485:2016 7.4.1',
  find(design) {
    const soon = daysAfter(design.today, SOON_DAYS);
    return approvedScopes(design).flatMap(({ suppliers, scope }) => {
      // Whoever else delivers the same for longer takes the place of one that has ended, not of one that will.
      const isCovered = suppliers.some(({ to }) => to > soon);
      return suppliers
        .filter(({ to }) => to <= soon && !(to < design.today && isCovered))
        .map(({ supplier, to }) => ({
          subjects: [{ kind: 'supplier', key: supplier }] as const,
          detail: scope,
          facts: { scope, to, over: to < design.today ? 'yes' : 'no' },
          by: to,
        }));
    });
  },
};
