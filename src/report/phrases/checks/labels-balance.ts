import { labelCount } from '../../../assessment/counts.js';
import { countText } from '../counts.js';
import type { CheckPhrases, Told } from '../phrase.js';

const countOf = ({ printed, used, destroyed }: Told) =>
  labelCount({ printed: Number(printed), used: Number(used), destroyed: Number(destroyed) });

export const labelsBalance: CheckPhrases = {
  title: 'Labels balance',
  asks: 'Was every label that was printed used or destroyed?',
  recompute: `With "labels" in the lot: "does not add up" [blocks release] unless used + destroyed is printed. Without, when a
step is pack: "not counted" [blocks release], which leaves the check undecided and does not fail it. Implants: all. Does not apply
without labels and such a step.`,
  basis: (facts) => countText(countOf(facts)),
  doesNotApply: 'nothing was packed yet: no step "pack"',
  rules: {
    'not counted': ({ lot }) => ({
      says: `Lot ${lot} was packed and does not say how many labels were printed, used and destroyed.`,
      clearedBy: 'Operator: count them and add "labels" to lot.yaml.',
    }),
    'does not add up': (facts) => {
      const count = countOf(facts);
      return {
        says: `Labels: ${countText(count)}: these add up to ${count.sum}, not to ${count.total}.`,
        clearedBy: 'Operator: find the missing labels, and correct the counts in lot.yaml with a reason.',
      };
    },
  },
};
