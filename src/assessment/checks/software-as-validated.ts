import { type Facts, revisionKey } from '../../dossier/facts.js';
import { revisionSubject } from '../../dossier/signable.js';
import { type Software, software } from '../../kinds/design-history/software.js';
import { readBody } from '../../kinds/formats.js';
import type { Build } from '../../kinds/lot.js';
import type { ClaimNote } from '../assessment.js';
import { builtDesigns } from '../built-designs.js';
import { type RecipeUse, recipeUses } from '../recipe-uses.js';
import { approvalOf, isGood, standingOf, unapproved } from '../signed.js';
import { type Check, isAfter, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

export const softwareAsValidated: Check = {
  code: 'software-as-validated',
  since: 1,
  clause: 'ISO 13485:2016 4.1.6, 7.5.6; FDA additive manufacturing guidance (2017), software workflow (from memory)',
  moment: 'build',
  looksAtCases: true,
  run(facts) {
    const claims: ClaimNote[] = [];
    const programs = programsOf(facts);
    return {
      findings: [
        ...programs.flatMap((program) => validated(facts, program, claims)),
        ...recipeUses(facts).flatMap((use) => shown(facts, use)),
      ],
      claims,
      basis: { programs: String(programs.length) },
      doesNotApply: programs.length === 0,
    };
  },
};

/** A program in the version that designs or recipes of the lot name, with the first closure after it was used. */
interface Program {
  readonly code: string;
  readonly revision: number;
  readonly closedAt: string;
  readonly units: readonly string[];
}

function programsOf(facts: Facts): Program[] {
  const named = [
    ...builtDesigns(facts).map(({ design, builtAt, serials }) => ({
      ...{ programs: design?.body.software ?? [], closedAt: builtAt, units: serials },
    })),
    ...recipeUses(facts).map(({ recipe, build, units }) => ({
      ...{ programs: recipe.body.software ?? [], closedAt: build.closedAt, units },
    })),
  ];
  const found = new Map<string, Program>();
  for (const { programs, closedAt, units } of named) {
    for (const { software: code, revision } of programs) {
      const key = revisionKey(code, revision);
      const known = found.get(key) ?? { closedAt, units: [] };
      found.set(key, {
        code,
        revision,
        closedAt: isAfter(known.closedAt, closedAt) ? closedAt : known.closedAt,
        units: [...new Set([...known.units, ...units])].sort(),
      });
    }
  }
  return [...found].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, program]) => program);
}

/** What a design alone names stands in the part of its case. */
function documentOf({ dossier, caseParts }: Facts, code: string, revision: number) {
  const pinned = [dossier, ...caseParts.values()].flatMap((one) => one.pinned);
  const item = pinned.find((one) => one.kind === software.kind && one.key === code && one.revision === revision);
  return item && { ...item, body: readBody(software, item.body, () => {}) as Software };
}

/** That a version was approved, and shown to do what it is used for, before the chamber closed on what it made. */
function validated(facts: Facts, { code, revision, closedAt, units }: Program, claims: ClaimNote[]): FindingDraft[] {
  const document = documentOf(facts, code, revision);
  const told = { program: revisionKey(code, revision) };
  const common = { subjects: [subject('software', code)], effect: 'cannot be decided' as const, units };
  if (!document) return [{ ...common, rule: 'not on record', facts: told, wantsEvidence: true }];
  const { on } = document.body.validatedBy;
  const standing = standingOf(facts, revisionSubject(document), document.body.approval);
  const unsigned = unapproved(standing, { ...common, facts: told });
  if (isGood(standing)) claims.push(approvalOf(software.kind, told.program, standing));
  return [
    ...(unsigned ? [unsigned] : []),
    ...(isGood(standing) && isAfter(standing.at, closedAt)
      ? [
          {
            ...{ ...common, rule: 'approved after the build', mayBeDecided: 'concession' as const },
            facts: { ...told, approvedAt: standing.at, closedAt },
          },
        ]
      : []),
    ...(on > closedAt.slice(0, on.length)
      ? [
          {
            ...{ ...common, rule: 'validated after the build', mayBeDecided: 'concession' as const },
            facts: { ...told, on, closedAt },
          },
        ]
      : []),
  ];
}

/** What the programs that made the paths and ran the machine showed on the day, against what the recipe names. */
function shown(facts: Facts, { recipe, key, build, units }: RecipeUse): FindingDraft[] {
  const planned = recipe.body.software ?? [];
  const common = {
    subjects: [subject('build', build.build)],
    effect: 'cannot be decided' as const,
    mayBeDecided: 'concession' as const,
    units,
  };
  const told = { recipe: key, build: build.build };
  // A program may have run in two versions: each is judged.
  const versionsOf = (code: string) => {
    const ran = build.software?.filter((one) => one.software === code) ?? [];
    return [...new Set(ran.map(({ version }) => version))];
  };
  return [
    ...planned.flatMap(({ software: code, revision }): FindingDraft[] => {
      const program = revisionKey(code, revision);
      const versions = versionsOf(code);
      if (versions.length === 0) {
        return [{ ...common, rule: 'version not stated', facts: { ...told, program }, wantsEvidence: true }];
      }
      const validated = documentOf(facts, code, revision)?.body.version;
      if (validated === undefined) return [];
      return versions
        .filter((version) => version !== validated)
        .map((version) => ({ ...common, rule: 'another version', facts: { ...told, program, validated, version } }));
    }),
    ...unplanned(build, planned).map(
      (program): FindingDraft => ({ ...common, rule: 'not named by the recipe', facts: { ...told, program } }),
    ),
  ];
}

const unplanned = (
  { software: shownThere = [] }: Build,
  planned: readonly { readonly software: string }[],
): string[] => {
  const codes = new Set(shownThere.map(({ software: code }) => code));
  return [...codes].filter((code) => !planned.some((one) => one.software === code));
};
