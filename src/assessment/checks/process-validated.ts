import type { Facts } from '../../dossier/facts.js';
import { revisionKey } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import type { ClaimNote } from '../assessment.js';
import { type RecipeUse, recipeUses } from '../recipe-uses.js';
import { isGood, noteOf, unapproved } from '../signed.js';
import { type Validation, validationStanding, validationsFor } from '../validations.js';
import { type Check, CONCEDE, type FindingDraft, isAfter, subject } from './check.js';

function findingsOf(facts: Facts, use: RecipeUse, claims: ClaimNote[]): FindingDraft[] {
  const { build, recipe, units } = use;
  const [validation] = validationsFor(facts, use);
  const process = `recipe group ${recipe.body.group} on ${build.machine}`;
  if (!validation) {
    return [
      {
        rule: 'no process validation',
        subjects: [subject('specification', facts.specification.body.specification), subject('build', build.build)],
        facts: { recipeGroup: recipe.body.group, machine: build.machine },
        effect: 'cannot be decided',
        mayBeDecided: 'concession',
        says: `The specification names no process validation of ${process}, for ${build.build}.`,
        clearedBy: 'Process engineer: name the validation in the next revision of the specification, before the build.',
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
  const missing = unapproved(standing, `Process validation ${name}`, 'Quality engineer', {
    ...common,
    facts: { validation: name },
  });
  if (missing) findings.push(missing);
  else if (isGood(standing) && isAfter(standing.at, build.closedAt)) {
    findings.push({
      ...common,
      rule: 'approved after the build',
      facts: { validation: name, approvedAt: standing.at, closedAt: build.closedAt },
      says: `Process validation ${name} was approved at ${timeText(standing.at)}, after ${build.build} was closed at ${timeText(build.closedAt)}.`,
      clearedBy: CONCEDE,
    });
  } else if (isGood(standing)) claims.push(noteOf(`approval of process validation ${name}`, standing));
  if (isAfter(body.validFrom, build.closedAt) || isAfter(build.closedAt, body.validUntil)) {
    findings.push({
      ...common,
      rule: 'not valid on the build date',
      facts: { validation: name, from: body.validFrom, until: body.validUntil, closedAt: build.closedAt },
      says: `Process validation ${name} is valid from ${timeText(body.validFrom)} to ${timeText(body.validUntil)}; ${build.build} was closed at ${timeText(build.closedAt)}.`,
      clearedBy: `Process engineer: validate again for what comes. ${CONCEDE}`,
    });
  }
  return findings;
}

export const processValidated: Check = {
  code: 'process-validated',
  title: 'Process validation valid on the build date',
  clause: 'ISO 13485:2016 7.5.6',
  moment: 'build',
  asks: 'Was the process that built each part validated, on that machine and for that recipe group, on that day?',
  run(facts) {
    const claims: ClaimNote[] = [];
    const uses = recipeUses(facts);
    const names = uses.flatMap((use) =>
      validationsFor(facts, use).map(({ body }) => revisionKey(body.validation, body.revision)),
    );
    return {
      findings: uses.flatMap((use) => findingsOf(facts, use, claims)),
      claims,
      basis: [...new Set(names)].sort().join('; '),
      ...(uses.length === 0 ? { doesNotApply: 'nothing was built yet' } : {}),
    };
  },
};
