import { NOTHING_TO_ASK } from '../absent.js';
import { COUNTED } from '../counts.js';
import type { CheckPhrases } from '../phrase.js';

export const countsBalance: CheckPhrases = {
  title: 'Quantities balance',
  asks: 'Is every implant that was made tested to destruction, retained, scrapped, or there to be released or rejected?',
  recompute: `"used up by a test and not said so" [blocks release] for each implant with a current row by a method that is
"destructive", unless "fates" of the lot says that it was tested. Does not apply without an implant.`,
  basis: ({ made, destructivelyTested, retained, scrapped, toDecide }) =>
    `${made} ${COUNTED.made}; ${[
      `${destructivelyTested} ${COUNTED['destructively tested']}`,
      `${retained} ${COUNTED.retained}`,
      `${scrapped} ${COUNTED.scrapped}`,
      `${toDecide} ${COUNTED['to decide']}`,
    ].join(', ')}`,
  doesNotApply: NOTHING_TO_ASK.noImplants,
  rules: {
    'used up by a test and not said so': ({ implant, method }) => ({
      says: `Implant ${implant} was measured by ${method}, which destroys what it measures, and lot.yaml does not count it as tested.`,
      clearedBy:
        'Operator: name it under "fates" in lot.yaml as tested, or correct the specimen or the method of the value.',
    }),
  },
};
