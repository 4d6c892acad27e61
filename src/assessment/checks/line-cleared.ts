import type { Build } from '../../kinds/lot.js';
import { type Check, isAfter, subject, unitsOfBuild } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** Where the machine asks for it: nothing of another case was left when its chamber closed, seen by somebody who did not run it. */
export const lineCleared: Check = {
  code: 'line-cleared',
  since: 1,
  clause: 'ISO 13485:2016 7.5.1, 7.5.8; 21 CFR 820.45',
  moment: 'build',
  run(facts) {
    const asked = facts.lot.body.builds.filter(({ machine }) => facts.machines.get(machine)?.body.clearance === 'yes');
    return {
      findings: asked.flatMap((build) => {
        const fault = faultOf(build);
        return fault === undefined ? [] : [{ ...fault, units: unitsOfBuild(facts, build.build) }];
      }),
      basis: { builds: asked.map(({ build }) => build).join(', ') },
      doesNotApply: asked.length === 0,
    };
  },
};

function faultOf({
  build,
  machine,
  closedAt,
  operator,
  lineClearance,
}: Build): Omit<FindingDraft, 'units'> | undefined {
  const finding = (rule: string, more: FindingDraft['facts'] = {}) => ({
    rule,
    subjects: [subject('build', build), subject('machine', machine)],
    facts: { build, machine, closedAt, ...more },
    effect: 'cannot be decided' as const,
    mayBeDecided: 'concession' as const,
  });
  if (lineClearance === undefined) return finding('nobody looked');
  const { by, at } = lineClearance;
  if (isAfter(at, closedAt)) return finding('looked after it closed', { by, at });
  return by === operator ? finding('by whoever ran it', { by }) : undefined;
}
