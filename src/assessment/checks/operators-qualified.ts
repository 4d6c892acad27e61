import { unqualified, type Work } from '../people.js';
import { type Check, unitsOfBuild } from './check.js';

export const operatorsQualified: Check = {
  code: 'operators-qualified',
  title: 'Operators qualified on the day of the build',
  clause: 'ISO 13485:2016 6.2, 7.5.1',
  moment: 'build',
  asks: 'Was whoever ran each build qualified for that machine on that day?',
  run(facts) {
    const works = facts.lot.body.builds.map((build): Work => {
      const machine = facts.machines.get(build.machine)?.body;
      return {
        person: build.operator,
        operation: machine?.operation ?? build.machine,
        at: build.closedAt,
        what: `ran build ${build.build}`,
        units: unitsOfBuild(facts, build.build),
      };
    });
    return {
      findings: unqualified(facts, works),
      basis: works.map(({ person, operation }) => `${person}: ${operation}`).join('; '),
    };
  },
};
