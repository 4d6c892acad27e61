import type { Facts } from '../../dossier/facts.js';
import type { Build } from '../../kinds/lot.js';
import { UPKEEP } from '../../kinds/machine.js';
import { type Check, isAfter, subject, unitsOfBuild } from './check.js';
import type { FindingDraft } from './finding-draft.js';

type Kind = (typeof UPKEEP)[number];

function findingFor(facts: Facts, build: Build, kind: Kind): FindingDraft[] {
  const machine = facts.machines.get(build.machine)!.body;
  const done = (machine.upkeep ?? [])
    .filter(({ what, at }) => what === kind && !isAfter(at, build.closedAt))
    .sort((a, b) => Date.parse(b.at) - Date.parse(a.at));
  const [latest] = done;
  const common = {
    subjects: [subject('machine', build.machine), subject('build', build.build)],
    effect: 'cannot be decided' as const,
    mayBeDecided: 'concession' as const,
    units: unitsOfBuild(facts, build.build),
  };
  const at = {
    machine: build.machine,
    title: machine.title,
    upkeep: kind,
    build: build.build,
    closedAt: build.closedAt,
  };
  if (!latest) {
    return [
      {
        ...common,
        rule: `no ${kind} on record`,
        facts: at,
      },
    ];
  }
  const recorded = { ...at, done: latest.at, due: latest.due };
  if (latest.result === 'failed') {
    return [
      {
        ...common,
        rule: `${kind} failed`,
        facts: recorded,
      },
    ];
  }
  if (!isAfter(build.closedAt, latest.due)) return [];
  return [
    {
      ...common,
      rule: `${kind} overdue`,
      facts: recorded,
    },
  ];
}

export const machinesMaintained: Check = {
  code: 'machines-maintained',
  since: 1,
  clause: 'ISO 13485:2016 6.3, 7.5.1',
  moment: 'build',
  run(facts) {
    const { builds } = facts.lot.body;
    return {
      findings: builds.flatMap((build) => UPKEEP.flatMap((kind) => findingFor(facts, build, kind))),
      basis: { machines: [...new Set(builds.map(({ machine }) => machine))].sort().join(', ') },
    };
  },
};
