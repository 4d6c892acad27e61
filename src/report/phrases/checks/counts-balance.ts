import type { Gone } from '../../../kinds/lot-after-build.js';
import { NOTHING_TO_ASK } from '../absent.js';
import { COUNTED, PART_FATES } from '../counts.js';
import { type CheckPhrases, ifTold } from '../phrase.js';

export const countsBalance: CheckPhrases = {
  title: 'Quantities balance',
  asks: 'Is every implant that was made tested to destruction, retained, scrapped, or there to be released or rejected?',
  recompute: `"used up by a test and not said so" [blocks release] for each implant with a current row by a method that is
"destructive", unless "fates" of the lot says that it was tested; else, for one of "fates", "nothing shows its fate" [blocks release],
which leaves the check undecided, unless its fate has "evidence" or is tested with such a row. Does not apply without an implant.`,
  basis: (told) => {
    const moved = ifTold(told, 'moved');
    return `${told.made} ${COUNTED.made}; ${[
      `${told.destructivelyTested} ${COUNTED['destructively tested']}`,
      `${told.retained} ${COUNTED.retained}`,
      `${told.scrapped} ${COUNTED.scrapped}`,
      ...(moved === undefined ? [] : [`${moved} ${COUNTED.moved}`]),
      `${told.toDecide} ${COUNTED['to decide']}`,
    ].join(', ')}`;
  },
  doesNotApply: NOTHING_TO_ASK.noImplants,
  rules: {
    'nothing shows its fate': ({ implant, fate }) => ({
      says: `Implant ${implant} is said to be ${PART_FATES[fate as Gone['as']]}, and nothing shows it.`,
      clearedBy:
        'Operator: name the file that shows it as "evidence" of its fate in lot.yaml, or take the values of its test in.',
    }),
    'used up by a test and not said so': ({ implant, method }) => ({
      says: `Implant ${implant} was measured by ${method}, which destroys what it measures, and lot.yaml does not count it as tested.`,
      clearedBy:
        'Operator: name it under "fates" in lot.yaml as tested, or correct the specimen or the method of the value.',
    }),
  },
};
