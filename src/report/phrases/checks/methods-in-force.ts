import { timeText } from '../../../dossier/time-text.js';
import { NOTHING_TO_ASK } from '../absent.js';
import { approvalPhrases } from '../approval.js';
import { type CheckPhrases, CONCEDE } from '../phrase.js';

export const methodsInForce: CheckPhrases = {
  title: 'Test methods in force when they were used',
  asks: 'Was each value measured by a method revision that was approved, effective and not superseded on that day?',
  recompute: `For each method revision of current rows that the lot file holds, at their earliest measuredAt: "no approval" or
"claimed, not signed" (both C) where it is not approved, else "approved after the measurement" (C) when it was after that; "not yet
effective" (C) when "effectiveFrom" lies after it; and "superseded at use" (C) when for one of the rows a later revision in the lot
file had taken effect. Implants: those of the specimens of these rows. Does not apply without such a method.`,
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
