import { timeText } from '../../../dossier/time-text.js';
import { NOTHING_TO_ASK } from '../absent.js';
import { approvalPhrases } from '../approval.js';
import { type CheckPhrases, CONCEDE } from '../phrase.js';

export const methodsInForce: CheckPhrases = {
  title: 'Test methods in force when they were used',
  asks: 'Was each value measured by a method revision that was approved, effective and not superseded on that day?',
  basis: ({ methods }) => methods,
  doesNotApply: NOTHING_TO_ASK.noResults,
  rules: {
    ...approvalPhrases(({ method }) => `Method ${method}`),
    'approved after the measurement': ({ method, approvedAt, row, measuredAt }) => ({
      says: `Method ${method} was approved at ${timeText(approvedAt)}; result ${row} was measured by it at ${timeText(measuredAt)}.`,
      clearedBy: `Analyst: repeat the measurement by the approved method. ${CONCEDE}`,
    }),
    'not yet effective': ({ method, effectiveFrom, row, measuredAt }) => ({
      says: `Method ${method} is effective from ${timeText(effectiveFrom)}; result ${row} was measured by it at ${timeText(measuredAt)}.`,
      clearedBy: 'Analyst: name the revision that was used, or repeat the measurement.',
    }),
    'superseded at use': ({ method, by, effectiveFrom, row, measuredAt }) => ({
      says: `Result ${row} was measured by ${method} at ${timeText(measuredAt)}; ${by} was in force since ${timeText(effectiveFrom)}.`,
      clearedBy: 'Analyst: repeat by the revision in force. Quality engineer: show that both revisions give the same.',
    }),
  },
};
