import type { Facts } from '../../dossier/facts.js';
import type { Characteristic } from '../../kinds/specification.js';
import { validationFaultText } from '../../report/phrases/plans.js';
import { validationFault } from '../validations.js';
import { type Check, type FindingDraft, subject, unitsOfBuild } from './check.js';

/** While the result is to come, units rest on the validation: it must have been valid when they were built. */
function findingsFor(facts: Facts, item: Characteristic): FindingDraft[] {
  const relies = item.relies!;
  return facts.lot.body.builds.flatMap((build) => {
    const fault = validationFault(facts, relies, build.closedAt);
    if (fault === undefined) return [];
    return [
      {
        rule: 'not valid for a late result',
        subjects: [subject('process-validation', relies), subject('build', build.build)],
        facts: { ...fault.facts, characteristic: item.characteristic, fault: fault.code },
        effect: 'cannot be decided' as const,
        says: `${item.title} may come after release only while a process validation holds: ${validationFaultText(fault)}.`,
        clearedBy: 'Analyst: take in the result before release. Process engineer: renew the validation for later lots.',
        units: unitsOfBuild(facts, build.build),
      },
    ];
  });
}

export const afterReleaseRelied: Check = {
  code: 'after-release-relied',
  title: 'Late results covered by a valid process validation',
  clause: 'ISO 13485:2016 7.5.6, 8.2.6',
  moment: 'release',
  asks: 'Does each characteristic that is due after release rest on a process validation that was valid on the build date?',
  run(facts) {
    const late = facts.specification.body.characteristics.filter(({ due }) => due === 'after-release');
    return {
      findings: late.flatMap((item) => findingsFor(facts, item)),
      basis: late.map(({ title, relies }) => `${title} rests on ${relies}`).join('; '),
      ...(late.length === 0 ? { doesNotApply: 'no characteristic is due after release' } : {}),
    };
  },
};
