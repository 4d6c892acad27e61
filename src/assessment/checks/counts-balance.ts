import { implantCount } from '../counts.js';
import { allUnits, type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

export const countsBalance: Check = {
  code: 'counts-balance',
  clause: 'ISO 13485:2016 7.5.1, 7.5.8',
  moment: 'release',
  run(facts) {
    const { counts, lot, implants } = facts.lot.body;
    const common = { subjects: [subject('lot', lot)], effect: 'blocks release' as const, units: allUnits(facts) };
    const doesNotApply = implants.length === 0 && !counts;
    if (!counts) {
      const finding: FindingDraft = {
        ...common,
        rule: 'not counted',
        facts: { lot, registered: String(implants.length) },
        wantsEvidence: true,
      };
      return { findings: doesNotApply ? [] : [finding], basis: {}, doesNotApply };
    }
    const count = implantCount(counts);
    const findings: FindingDraft[] = [];
    const given = Object.fromEntries(Object.entries(counts).map(([name, number]) => [name, String(number)]));
    if (count.sum !== count.total) {
      findings.push({
        ...common,
        rule: 'does not add up',
        facts: given,
      });
    }
    if (counts.made !== implants.length) {
      findings.push({
        ...common,
        rule: 'made is not what is registered',
        facts: { ...given, registered: String(implants.length) },
      });
    }
    return { findings, basis: given };
  },
};
