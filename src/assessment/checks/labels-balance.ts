import { countText, labelCount } from '../counts.js';
import { allUnits, type Check, type FindingDraft, subject } from './check.js';

export const labelsBalance: Check = {
  code: 'labels-balance',
  title: 'Labels balance',
  clause: '21 CFR 820.45; ISO 13485:2016 7.5.1',
  moment: 'release',
  asks: 'Was every label that was printed used or destroyed?',
  run(facts) {
    const { labels, lot, steps } = facts.lot.body;
    const common = { subjects: [subject('lot', lot)], effect: 'blocks release' as const, units: allUnits(facts) };
    const packed = steps.some(({ step }) => step === 'pack');
    if (!labels) {
      const finding: FindingDraft = {
        ...common,
        rule: 'not counted',
        facts: { lot },
        says: `Lot ${lot} was packed and does not say how many labels were printed, used and destroyed.`,
        clearedBy: 'Operator: count them and add "labels" to lot.yaml.',
        wantsEvidence: true,
      };
      return packed
        ? { findings: [finding], basis: '' }
        : { findings: [], basis: '', doesNotApply: 'nothing was packed yet: no step "pack"' };
    }
    const { printed, used, destroyed } = labels;
    const count = labelCount(labels);
    const said = countText(count);
    if (count.sum === count.total) return { findings: [], basis: said };
    return {
      findings: [
        {
          ...common,
          rule: 'does not add up',
          facts: { printed: String(printed), used: String(used), destroyed: String(destroyed) },
          says: `Labels: ${said}: these add up to ${count.sum}, not to ${count.total}.`,
          clearedBy: 'Operator: find the missing labels, and correct the counts in lot.yaml with a reason.',
        },
      ],
      basis: said,
    };
  },
};
