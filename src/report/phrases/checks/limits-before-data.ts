import { timeText } from '../../../dossier/time-text.js';
import { NOTHING_TO_ASK } from '../absent.js';
import type { CheckPhrases } from '../phrase.js';

export const limitsBeforeData: CheckPhrases = {
  title: 'Limits not changed after the data',
  asks: 'Were limits, decision rule and plan of each characteristic taken in, or approved on a signed original, before its first value was measured?',
  recompute: `For each characteristic: the earliest "recordedAt" of this specification and of its other revisions under
"pinned" that have the same for it in ucum, lower, upper, target, decision, rounding, plan, averaging, replicates, measuredOn,
zoneClass and method; and "approval.at" of each of these where an "original" stands beside it, if that is earlier. "limits recorded
after the data" [blocks release] (D) when a current row of it has an earlier measuredAt. Implants: all. Does not apply without a
current row.`,
  basis: ({ recordedAt }) => `specification on record since ${timeText(recordedAt)}`,
  doesNotApply: NOTHING_TO_ASK.noResults,
  rules: {
    'limits recorded after the data': ({ title, specification, recordedAt, values, row, measuredAt }) => ({
      says:
        `The limits of ${title} came in with ${specification} at ${timeText(recordedAt)}, after ` +
        `${values} values were measured; the first, result ${row}, at ${timeText(measuredAt)}.`,
      clearedBy:
        'Process and quality engineer: decide with the reason why these limits were not chosen by the data. A signed original that came with the specification would count by its date.',
    }),
  },
};
