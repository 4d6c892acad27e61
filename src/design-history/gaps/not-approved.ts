import { HISTORY_KINDS } from '../../kinds/design-history/history-kinds.js';
import type { DesignRevision } from '../design-facts.js';
import { type GapRule, ref } from './gap-rule.js';

export const notApproved: GapRule = {
  code: 'not-approved',
  clause: 'ISO 13485:2016 4.2.4',
  find: (design) =>
    HISTORY_KINDS.flatMap((kind) => design.current(kind) as readonly DesignRevision[])
      .filter(({ approvedBy }) => approvedBy === null)
      .map((one) => ({ subjects: [ref(one)], facts: { revision: String(one.revision) } })),
};
