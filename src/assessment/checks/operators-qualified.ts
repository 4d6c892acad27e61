import { unqualified, type Work } from '../people.js';
import { type Check, unitsOfBuild } from './check.js';

export const operatorsQualified: Check = {
  code: 'operators-qualified',
  since: 1,
  clause: 'ISO 13485:2016 6.2, 7.5.1',
  moment: 'build',
  run(facts) {
    const works = facts.lot.body.builds.map((build): Work => {
      const machine = facts.machines.get(build.machine)?.body;
      return {
        person: build.operator,
        operation: machine?.operation ?? build.machine,
        at: build.closedAt,
        what: 'build',
        on: build.build,
        units: unitsOfBuild(facts, build.build),
      };
    });
    return {
      findings: unqualified(facts, works),
      basis: { people: works.map(({ person, operation }) => `${person}: ${operation}`).join('; ') },
    };
  },
};
