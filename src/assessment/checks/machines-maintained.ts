import type { Facts } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import type { Build } from '../../kinds/lot.js';
import { UPKEEP } from '../../kinds/machine.js';
import { type Check, type FindingDraft, isAfter, subject, unitsOfBuild } from './check.js';

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
    clearedBy: `Process engineer: take in the record of the ${kind}, or assess what the machine did since the last one.`,
  };
  const closed = `before ${build.build} was closed at ${timeText(build.closedAt)}`;
  if (!latest) {
    return [
      {
        ...common,
        rule: `no ${kind} on record`,
        facts: { machine: build.machine, closedAt: build.closedAt },
        says: `${machine.title} (${build.machine}) has no ${kind} on record ${closed}.`,
      },
    ];
  }
  const recorded = { machine: build.machine, done: latest.at, due: latest.due, closedAt: build.closedAt };
  if (latest.result === 'failed') {
    return [
      {
        ...common,
        rule: `${kind} failed`,
        facts: recorded,
        says: `${machine.title} (${build.machine}) failed its ${kind} at ${timeText(latest.at)}, and none passed ${closed}.`,
      },
    ];
  }
  if (!isAfter(build.closedAt, latest.due)) return [];
  return [
    {
      ...common,
      rule: `${kind} overdue`,
      facts: recorded,
      says: `The ${kind} of ${machine.title} (${build.machine}) had been due on ${timeText(latest.due)}, ${closed}.`,
    },
  ];
}

export const machinesMaintained: Check = {
  code: 'machines-maintained',
  title: 'Maintenance, leak test and power check in date',
  clause: 'ISO 13485:2016 6.3, 7.5.1',
  moment: 'build',
  asks: 'Had each machine passed its maintenance, leak test and power check, and was none due when the chamber closed?',
  run(facts) {
    const { builds } = facts.lot.body;
    return {
      findings: builds.flatMap((build) => UPKEEP.flatMap((kind) => findingFor(facts, build, kind))),
      basis: [...new Set(builds.map(({ machine }) => machine))].sort().join(', '),
    };
  },
};
