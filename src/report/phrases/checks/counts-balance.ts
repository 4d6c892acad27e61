import { implantCount } from '../../../assessment/counts.js';
import { NOTHING_TO_ASK } from '../absent.js';
import { countText } from '../counts.js';
import type { CheckPhrases, Told } from '../phrase.js';

const countOf = ({ made, destructivelyTested, retained, toDecide }: Told) =>
  implantCount({
    made: Number(made),
    destructivelyTested: Number(destructivelyTested),
    retained: Number(retained),
    toDecide: Number(toDecide),
  });

export const countsBalance: CheckPhrases = {
  title: 'Quantities balance',
  asks: 'Is every implant that was made tested to destruction, retained, or there to be released or rejected?',
  basis: (facts) => countText(countOf(facts)),
  doesNotApply: NOTHING_TO_ASK.noImplants,
  rules: {
    'not counted': ({ lot, registered }) => ({
      says: `Lot ${lot} does not say what became of its ${registered} implants.`,
      clearedBy: 'Operator: count them and add "counts" to lot.yaml.',
    }),
    'does not add up': (facts) => {
      const count = countOf(facts);
      return {
        says: `${countText(count)}: these add up to ${count.sum}, not to ${count.total}.`,
        clearedBy: 'Operator: count again, and correct the counts in lot.yaml with a reason.',
      };
    },
    'made is not what is registered': ({ made, registered }) => ({
      says: `${made} implants are said to have been made; lot.yaml registers ${registered} serials.`,
      clearedBy: 'Operator: register every implant with its serial, or correct the count.',
    }),
  },
};
