import { labelCount } from '../counts.js';
import { allUnits, type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

export const labelsBalance: Check = {
  code: 'labels-balance',
  since: 1,
  clause: '21 CFR 820.45; ISO 13485:2016 7.5.1',
  moment: 'release',
  run(facts) {
    const { labels, lot, steps } = facts.lot.body;
    const common = { subjects: [subject('lot', lot)], effect: 'blocks release' as const, units: allUnits(facts) };
    const packed = steps.some(({ step }) => step === 'pack');
    if (!labels) {
      const finding: FindingDraft = {
        ...common,
        rule: 'not counted',
        facts: { lot },
        wantsEvidence: true,
      };
      return packed ? { findings: [finding], basis: {} } : { findings: [], basis: {}, doesNotApply: true };
    }
    const { printed, used, destroyed } = labels;
    const count = labelCount(labels);
    const given = { printed: String(printed), used: String(used), destroyed: String(destroyed) };
    if (count.sum === count.total) return { findings: [], basis: given };
    return {
      findings: [
        {
          ...common,
          rule: 'does not add up',
          facts: given,
        },
      ],
      basis: given,
    };
  },
};
