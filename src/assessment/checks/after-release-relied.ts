import { canonicalJson } from '../../dossier/canonical.js';
import type { Facts } from '../../dossier/facts.js';
import type { Characteristic } from '../../kinds/specification.js';
import { validationFault } from '../validations.js';
import { type Check, subject, unitsOfBuild } from './check.js';
import type { FindingDraft } from './finding-draft.js';

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
        facts: {
          characteristic: item.characteristic,
          title: item.title,
          validation: relies,
          fault: canonicalJson(fault),
        },
        effect: 'cannot be decided' as const,
        units: unitsOfBuild(facts, build.build),
      },
    ];
  });
}

export const afterReleaseRelied: Check = {
  code: 'after-release-relied',
  since: 1,
  clause: 'ISO 13485:2016 7.5.6, 8.2.6',
  moment: 'release',
  run(facts) {
    const late = facts.specification.body.characteristics.filter(({ due }) => due === 'after-release');
    return {
      findings: late.flatMap((item) => findingsFor(facts, item)),
      basis: { late: canonicalJson(late.map(({ title, relies }) => [title, relies])) },
      doesNotApply: late.length === 0,
    };
  },
};
