import { canonicalJson } from '../../dossier/canonical.js';
import type { Facts } from '../../dossier/facts.js';
import { kindNamed } from '../../kinds/catalogue.js';
import { readBody } from '../../kinds/formats.js';
import { liesAhead, timesThatHappened } from '../../kinds/happened.js';
import type { Build } from '../../kinds/lot.js';
import { currentResults, type NumberedResult, unitsOfSpecimen } from '../specimens.js';
import { allUnits, type Check, isAfter, subject, unitsOfBuild } from './check.js';
import type { FindingDraft } from './finding-draft.js';

const sourceOf = (row: NumberedResult) => ({ row: String(row.row), file: row.file, line: row.line });

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
    if (liesAhead(row.measuredAt, row.recordedAt)) {
      return [
        {
          ...common,
          rule: 'result after its recording',
          facts: { ...sourceOf(row), specimen: row.specimen, measuredAt: row.measuredAt, recordedAt: row.recordedAt },
          mayBeDecided: 'decision',
          units: unitsOfSpecimen(facts, row.specimen),
        },
      ];
    }
    if (!parts.has(row.specimen)) {
      return [
        {
          ...common,
          rule: 'specimen of another lot',
          facts: {
            ...sourceOf(row),
            specimen: row.specimen,
            evidence: row.evidence,
            lot: facts.lot.body.lot,
          },
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
        facts: {
          ...sourceOf(row),
          specimen: row.specimen,
          measuredAt: row.measuredAt,
          build: build.build,
          closedAt: build.closedAt,
          evidence: row.evidence,
        },
        units: unitsOfSpecimen(facts, row.specimen),
      },
    ];
  });
}

/** Documents with facts that happened after they were recorded: one of the two times is wrong, or the fact was foretold. */
function foretold(facts: Facts): FindingDraft[] {
  return facts.dossier.pinned.flatMap((item): FindingDraft[] => {
    const kind = kindNamed(item.kind);
    if (kind === undefined) return [];
    // What a later version wrote was told when the lot file was read.
    const ahead = timesThatHappened(
      kind.schema,
      readBody(kind, item.body, () => {}),
    ).filter(({ time }) => liesAhead(time, item.recordedAt));
    if (ahead.length === 0) return [];
    return [
      {
        rule: 'fact after its recording',
        subjects: [subject(item.kind, item.key)],
        facts: {
          kind: item.kind,
          document: item.key,
          recordedAt: item.recordedAt,
          happened: canonicalJson(ahead.map(({ path, time }) => [path.join('.'), time])),
        },
        effect: 'cannot be decided',
        mayBeDecided: 'decision',
        units: allUnits(facts),
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
        facts: {
          replicate: key,
          firstRow: String(first.row),
          firstFile: first.file,
          firstLine: first.line,
          firstEvidence: first.evidence,
          firstValue: first.value,
          ...sourceOf(row),
          evidence: row.evidence,
          value: row.value,
          unit: row.ucum,
        },
        effect: 'cannot be decided',
        units: unitsOfSpecimen(facts, row.specimen),
      },
    ];
  });
}

function stepFindings(facts: Facts): FindingDraft[] {
  const { steps, builds, opened, lot, splitFrom } = facts.lot.body;
  const last = [...builds].sort((a, b) => Date.parse(b.openedAt) - Date.parse(a.openedAt))[0]!;
  const early = steps.filter(({ at }) => isAfter(last.openedAt, at));
  const firstClosed = [...builds].sort((a, b) => Date.parse(a.closedAt) - Date.parse(b.closedAt))[0]!;
  return [
    ...early.map(({ step, at }) => ({
      rule: 'step before the chamber was opened',
      subjects: [subject('lot', lot), subject('build', last.build)],
      facts: { step, at, build: last.build, openedAt: last.openedAt },
      effect: 'cannot be decided' as const,
      units: allUnits(facts),
    })),
    // A lot that was split from another is opened when its units are there.
    ...(splitFrom === undefined && isAfter(opened.at, firstClosed.closedAt)
      ? [
          {
            rule: 'lot opened after its build',
            subjects: [subject('lot', lot), subject('build', firstClosed.build)],
            facts: { lot, openedAt: opened.at, build: firstClosed.build, closedAt: firstClosed.closedAt },
            effect: 'blocks release' as const,
            mayBeDecided: 'decision' as const,
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
      units: unitsOfBuild(facts, build),
    }));
}

export const eventsInOrder: Check = {
  code: 'events-in-order',
  since: 1,
  clause: 'ISO 13485:2016 4.2.5, 7.5.9; 21 CFR 11.10(f)',
  moment: 'sterilisation',
  run(facts) {
    const rows = currentResults(facts);
    return {
      findings: [
        ...plannedBuilds(facts),
        ...stepFindings(facts),
        ...foretold(facts),
        ...resultFindings(facts, rows),
        ...repeatedReplicates(facts, rows),
      ],
      basis: {
        builds: String(facts.lot.body.builds.length),
        steps: String(facts.lot.body.steps.length),
        results: String(rows.length),
      },
    };
  },
};
