import { reuseCycles } from '../materials.js';
import { strictestOf } from '../powder-limits.js';
import { type Check, subject, unitsOfBuild } from './check.js';

/** How often powder went through a machine is counted from its recoveries, and never typed. */
export const powderReuseWithinLimit: Check = {
  code: 'powder-reuse-within-limit',
  since: 1,
  clause: 'ISO 13485:2016 7.5.1, 7.5.6; FDA additive manufacturing guidance (2017), material reuse',
  moment: 'build',
  run(facts) {
    const cycles = reuseCycles(facts);
    const asked = facts.lot.body.builds.flatMap((build) =>
      build.powder.flatMap(({ state }) => {
        const most = strictestOf(facts, state, 'reuseLimit');
        return most === undefined ? [] : [{ build, state, most }];
      }),
    );
    return {
      findings: asked
        .filter(({ state, most }) => cycles.get(state)! > Number(most))
        .map(({ build: { build }, state, most }) => ({
          rule: 'used too often',
          subjects: [subject('build', build), subject('powder-state', state)],
          facts: { build, state, uses: String(cycles.get(state)), most },
          effect: 'cannot be decided' as const,
          units: unitsOfBuild(facts, build),
          mayBeDecided: 'concession' as const,
        })),
      basis: { builds: [...new Set(asked.map(({ build }) => build.build))].join(', ') },
      doesNotApply: asked.length === 0,
    };
  },
};
