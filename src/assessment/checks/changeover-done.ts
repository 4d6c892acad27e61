import type { Facts } from '../../dossier/facts.js';
import type { Build } from '../../kinds/lot.js';
import { type Ready, readyFor } from '../changeovers.js';
import { type Check, subject, unitsOfBuild } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** The last changeover of the machine decides, whether or not the lot names one: what was run before is nothing of the lot. */
export const changeoverDone: Check = {
  code: 'changeover-done',
  since: 1,
  clause: 'ISO 13485:2016 6.4.2, 7.5.1, 7.5.2',
  moment: 'build',
  run(facts) {
    const asked = facts.lot.body.builds.flatMap((build) => {
      const ready = readyFor(facts, build);
      return ready === undefined && build.changeover === undefined ? [] : [{ build, ready }];
    });
    return {
      findings: asked.flatMap(({ build, ready }) => findingsOf(facts, build, ready)),
      basis: {
        builds: asked.map(({ build, ready }) => `${build.build}: ${ready?.by?.body.changeover ?? ''}`).join('; '),
      },
      doesNotApply: asked.length === 0,
    };
  },
};

function findingsOf(facts: Facts, build: Build, ready: Ready | undefined): FindingDraft[] {
  const { alloy, by } = ready ?? {};
  const { body: family } = facts.family;
  const finding = (rule: string, more: FindingDraft['facts'] = {}): FindingDraft => ({
    rule,
    subjects: [
      subject('build', build.build),
      by === undefined ? subject('machine', build.machine) : subject('changeover', by.body.changeover),
    ],
    facts: { build: build.build, machine: build.machine, changeover: by?.body.changeover ?? '', ...more },
    effect: 'cannot be decided',
    units: unitsOfBuild(facts, build.build),
    mayBeDecided: 'concession',
  });
  const { changeover: named } = build;
  return [
    ...(alloy === undefined || alloy === family.alloy
      ? []
      : [finding('ready for another alloy', { alloy, asked: family.alloy })]),
    ...(named !== undefined && named !== by?.body.changeover ? [finding('not the last one', { named })] : []),
    ...(by === undefined || by.body.purge !== undefined ? [] : [finding('not purged')]),
    ...(by?.body.verified.result === 'failed'
      ? [
          {
            ...finding('something was left', { condition: by.body.verified.what }),
            effect: 'does not conform' as const,
          },
        ]
      : []),
  ];
}
