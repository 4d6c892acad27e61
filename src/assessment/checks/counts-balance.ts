import { countText, implantCount } from '../counts.js';
import { allUnits, type Check, type FindingDraft, subject } from './check.js';

export const countsBalance: Check = {
  code: 'counts-balance',
  title: 'Quantities balance',
  clause: 'ISO 13485:2016 7.5.1, 7.5.8',
  moment: 'release',
  asks: 'Is every implant that was made tested to destruction, retained, or there to be released or rejected?',
  run(facts) {
    const { counts, lot, implants } = facts.lot.body;
    const common = { subjects: [subject('lot', lot)], effect: 'blocks release' as const, units: allUnits(facts) };
    const doesNotApply = implants.length === 0 && !counts ? 'a build without implants' : undefined;
    if (!counts) {
      const finding: FindingDraft = {
        ...common,
        rule: 'not counted',
        facts: { lot },
        says: `Lot ${lot} does not say what became of its ${implants.length} implants.`,
        clearedBy: 'Operator: count them and add "counts" to lot.yaml.',
        wantsEvidence: true,
      };
      return { findings: doesNotApply ? [] : [finding], basis: '', ...(doesNotApply ? { doesNotApply } : {}) };
    }
    const count = implantCount(counts);
    const said = countText(count);
    const findings: FindingDraft[] = [];
    const given = Object.fromEntries(Object.entries(counts).map(([name, number]) => [name, String(number)]));
    if (count.sum !== count.total) {
      findings.push({
        ...common,
        rule: 'does not add up',
        facts: given,
        says: `${said}: these add up to ${count.sum}, not to ${count.total}.`,
        clearedBy: 'Operator: count again, and correct the counts in lot.yaml with a reason.',
      });
    }
    if (counts.made !== implants.length) {
      findings.push({
        ...common,
        rule: 'made is not what is registered',
        facts: { ...given, registered: String(implants.length) },
        says: `${counts.made} implants are said to have been made; lot.yaml registers ${implants.length} serials.`,
        clearedBy: 'Operator: register every implant with its serial, or correct the count.',
      });
    }
    return { findings, basis: said };
  },
};
