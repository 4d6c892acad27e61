import type { Facts } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import type { Build } from '../../kinds/lot.js';
import { currentResults, type NumberedResult, unitsOfSpecimen } from '../specimens.js';
import { allUnits, type Check, type FindingDraft, isAfter, subject, unitsOfBuild } from './check.js';

const sourceOf = (row: NumberedResult): string => `result ${row.row} (${row.file}, line ${row.line})`;

/** Builds by the code of each part, and undefined for a specimen that the lot does not have. */
function buildOfParts(facts: Facts): ReadonlyMap<string, Build | undefined> {
  const { builds, implants, coupons } = facts.lot.body;
  const named = new Map(builds.map((build) => [build.build, build]));
  return new Map<string, Build | undefined>([
    ...implants.map((part): [string, Build | undefined] => [part.serial, named.get(part.build)]),
    ...coupons.map((part): [string, Build | undefined] => [part.coupon, named.get(part.build)]),
  ]);
}

function resultFindings(facts: Facts, rows: readonly NumberedResult[]): FindingDraft[] {
  const parts = buildOfParts(facts);
  return rows.flatMap((row): FindingDraft[] => {
    const common = {
      subjects: [subject('result', String(row.row)), subject('specimen', row.specimen)],
      effect: 'cannot be decided' as const,
    };
    if (!parts.has(row.specimen)) {
      return [
        {
          ...common,
          rule: 'specimen of another lot',
          facts: { specimen: row.specimen, evidence: row.evidence, line: row.line },
          says: `${sourceOf(row)} is a value of ${row.specimen}, which is no implant or coupon of lot ${facts.lot.body.lot}.`,
          clearedBy: 'Operator: put the specimen back into lot.yaml, or correct the row with a reason.',
          units: allUnits(facts),
        },
      ];
    }
    const build = parts.get(row.specimen);
    if (!build || !isAfter(build.closedAt, row.measuredAt)) return [];
    return [
      {
        ...common,
        rule: 'result before the build',
        facts: { measuredAt: row.measuredAt, closedAt: build.closedAt, evidence: row.evidence, line: row.line },
        says: `${sourceOf(row)} of ${row.specimen} says measured at ${timeText(row.measuredAt)}; lot.yaml says that ${build.build} was closed at ${timeText(build.closedAt)}.`,
        clearedBy: 'Analyst or operator: find which of the two times is wrong and correct it with a reason.',
        units: unitsOfSpecimen(facts, row.specimen),
      },
    ];
  });
}

function repeatedReplicates(facts: Facts, rows: readonly NumberedResult[]): FindingDraft[] {
  const seen = new Map<string, NumberedResult>();
  return rows.flatMap((row): FindingDraft[] => {
    const key = [row.specimen, row.piece, row.characteristic, row.replicate].join(' / ');
    const first = seen.get(key);
    if (!first) {
      seen.set(key, row);
      return [];
    }
    return [
      {
        rule: 'two results for one replicate',
        subjects: [subject('result', String(first.row)), subject('result', String(row.row))],
        facts: { key, first: `${first.evidence}:${first.line}`, second: `${row.evidence}:${row.line}` },
        effect: 'cannot be decided',
        says: `${sourceOf(first)} and ${sourceOf(row)} both are ${key}: ${first.value} and ${row.value} ${row.ucum}.`,
        clearedBy: 'Analyst: number the replicates, or correct one of the two with a reason.',
        units: unitsOfSpecimen(facts, row.specimen),
      },
    ];
  });
}

function stepFindings(facts: Facts): FindingDraft[] {
  const { steps, builds, opened, lot } = facts.lot.body;
  const last = [...builds].sort((a, b) => Date.parse(b.openedAt) - Date.parse(a.openedAt))[0]!;
  const early = steps.filter(({ at }) => isAfter(last.openedAt, at));
  const firstClosed = [...builds].sort((a, b) => Date.parse(a.closedAt) - Date.parse(b.closedAt))[0]!;
  return [
    ...early.map(({ step, at }) => ({
      rule: 'step before the chamber was opened',
      subjects: [subject('lot', lot), subject('build', last.build)],
      facts: { step, at, openedAt: last.openedAt },
      effect: 'cannot be decided' as const,
      says: `lot.yaml says that the step "${step}" was done at ${timeText(at)} and that ${last.build} was opened at ${timeText(last.openedAt)}.`,
      clearedBy: 'Operator: find which of the two times is wrong and correct it with a reason.',
      units: allUnits(facts),
    })),
    ...(isAfter(opened.at, firstClosed.closedAt)
      ? [
          {
            rule: 'lot opened after its build',
            subjects: [subject('lot', lot), subject('build', firstClosed.build)],
            facts: { openedAt: opened.at, closedAt: firstClosed.closedAt },
            effect: 'blocks release' as const,
            mayBeDecided: 'decision' as const,
            says: `Lot ${lot} was opened at ${timeText(opened.at)}, after ${firstClosed.build} was closed at ${timeText(firstClosed.closedAt)}.`,
            clearedBy: 'Process and quality engineer: decide why the lot was opened late, or correct the time.',
            units: unitsOfBuild(facts, firstClosed.build),
          },
        ]
      : []),
  ];
}

function plannedBuilds(facts: Facts): FindingDraft[] {
  return facts.lot.body.builds
    .filter(({ state }) => state === 'planned')
    .map(({ build }) => ({
      rule: 'not built yet',
      subjects: [subject('build', build)],
      facts: { build },
      effect: 'cannot be decided' as const,
      says: `Build ${build} is only planned.`,
      clearedBy: 'Operator: after the build, set its state to built with the true times, and say so in "reason".',
      units: unitsOfBuild(facts, build),
    }));
}

export const eventsInOrder: Check = {
  code: 'events-in-order',
  title: 'Events in an order that can be true',
  clause: 'ISO 13485:2016 4.2.5, 7.5.9; 21 CFR 11.10(f)',
  moment: 'sterilisation',
  asks: 'Do builds, steps and results follow each other, does each result belong to a part of this lot, and to one alone?',
  run(facts) {
    const rows = currentResults(facts);
    return {
      findings: [
        ...plannedBuilds(facts),
        ...stepFindings(facts),
        ...resultFindings(facts, rows),
        ...repeatedReplicates(facts, rows),
      ],
      basis: `${facts.lot.body.builds.length} builds, ${facts.lot.body.steps.length} steps, ${rows.length} results`,
    };
  },
};
