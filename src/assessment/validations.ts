import type { Facts, Recorded } from '../dossier/facts.js';
import { revisionKey } from '../dossier/facts.js';
import { revisionSubject } from '../dossier/signable.js';
import type { ProcessValidation } from '../kinds/process-validation.js';
import type { ValidationFault } from './reasons.js';
import type { RecipeUse } from './recipe-uses.js';
import { isGood, type Standing, standingOf } from './signed.js';

export type Validation = Recorded<ProcessValidation>;

/** The process validations that the specification rests on, in its order. */
export function validationsOf(facts: Facts): Validation[] {
  return (facts.specification.body.validations ?? []).flatMap(({ validation, revision }) => {
    const found = facts.validations.get(revisionKey(validation, revision));
    return found ? [found] : [];
  });
}

/** Of these, the ones that cover a recipe group on the machine of a build. */
export const validationsFor = (facts: Facts, { recipe, build }: RecipeUse): Validation[] =>
  validationsOf(facts).filter(
    ({ body }) => body.machine === build.machine && body.recipeGroups.includes(recipe.body.group),
  );

/** The revision of a process validation that the specification names. */
export const validationNamed = (facts: Facts, code: string): Validation | undefined =>
  validationsOf(facts).find(({ body }) => body.validation === code);

export const validationStanding = (facts: Facts, validation: Validation): Standing =>
  standingOf(
    facts,
    revisionSubject({ ...validation, kind: 'process-validation', key: validation.body.validation }),
    validation.body.approval,
  );

/** Why a process validation that the specification names may not be relied on for a build, or undefined when it may. */
export function validationFault(facts: Facts, code: string, closedAt: string): ValidationFault | undefined {
  const validation = validationNamed(facts, code);
  if (!validation) return { code: 'not in the lot file', facts: { validation: code } };
  const { body } = validation;
  const name = revisionKey(body.validation, body.revision);
  const standing = validationStanding(facts, validation);
  if (!isGood(standing)) return { code: 'not approved', facts: { validation: name } };
  const closed = Date.parse(closedAt);
  if (Date.parse(standing.at) > closed) {
    return { code: 'approved after the build', facts: { validation: name, approvedAt: standing.at, closedAt } };
  }
  if (closed < Date.parse(body.validFrom) || closed > Date.parse(body.validUntil)) {
    return {
      code: 'not valid on the build date',
      facts: { validation: name, from: body.validFrom, until: body.validUntil, closedAt },
    };
  }
  return undefined;
}
