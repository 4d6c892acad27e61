import type { Facts } from '../../dossier/facts.js';
import { revisionKey } from '../../dossier/facts.js';
import type { ClaimNote } from '../assessment.js';
import { type RecipeUse, recipeUses } from '../recipe-uses.js';
import { approvalOf, isGood, unapproved } from '../signed.js';
import { type Validation, validationStanding, validationsFor } from '../validations.js';
import { type Check, isAfter, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

function findingsOf(facts: Facts, use: RecipeUse, claims: ClaimNote[]): FindingDraft[] {
  const { build, recipe, units } = use;
  const [validation] = validationsFor(facts, use);
  if (!validation) {
    return [
      {
        rule: 'no process validation',
        subjects: [subject('specification', facts.specification.body.specification), subject('build', build.build)],
        facts: { recipeGroup: recipe.body.group, machine: build.machine, build: build.build },
        effect: 'cannot be decided',
        mayBeDecided: 'concession',
        units,
      },
    ];
  }
  return troublesOf(facts, validation, use, claims);
}

function troublesOf(facts: Facts, validation: Validation, use: RecipeUse, claims: ClaimNote[]): FindingDraft[] {
  const { build, units } = use;
  const { body } = validation;
  const name = revisionKey(body.validation, body.revision);
  const common = {
    subjects: [subject('process-validation', body.validation), subject('build', build.build)],
    effect: 'cannot be decided' as const,
    mayBeDecided: 'concession' as const,
    units,
  };
  const findings: FindingDraft[] = [];
  const standing = validationStanding(facts, validation);
  const missing = unapproved(standing, {
    ...common,
    facts: { validation: name },
  });
  if (missing) findings.push(missing);
  else if (isGood(standing) && isAfter(standing.at, build.closedAt)) {
    findings.push({
      ...common,
      rule: 'approved after the build',
      facts: { validation: name, approvedAt: standing.at, build: build.build, closedAt: build.closedAt },
    });
  } else if (isGood(standing)) claims.push(approvalOf('process-validation', name, standing));
  if (isAfter(body.validFrom, build.closedAt) || isAfter(build.closedAt, body.validUntil)) {
    findings.push({
      ...common,
      rule: 'not valid on the build date',
      facts: {
        validation: name,
        from: body.validFrom,
        until: body.validUntil,
        build: build.build,
        closedAt: build.closedAt,
      },
    });
  }
  return findings;
}

export const processValidated: Check = {
  code: 'process-validated',
  since: 1,
  clause: 'ISO 13485:2016 7.5.6',
  moment: 'build',
  run(facts) {
    const claims: ClaimNote[] = [];
    const uses = recipeUses(facts);
    const names = uses.flatMap((use) =>
      validationsFor(facts, use).map(({ body }) => revisionKey(body.validation, body.revision)),
    );
    return {
      findings: uses.flatMap((use) => findingsOf(facts, use, claims)),
      claims,
      basis: { validations: [...new Set(names)].sort().join('; ') },
      doesNotApply: uses.length === 0,
    };
  },
};
