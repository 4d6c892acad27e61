import { compareDecimal } from '../../base/decimal.js';
import { AppError } from '../../base/errors.js';
import { convert } from '../../base/units.js';
import { canonicalJson } from '../../dossier/canonical.js';
import type { Facts } from '../../dossier/facts.js';
import type { ProcessValidation, ValidatedRange } from '../../kinds/process-validation.js';
import { type RecipeUse, recipeUses } from '../recipe-uses.js';
import { validationsFor } from '../validations.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

interface Setting {
  readonly zone: string;
  readonly zoneClass: string;
  readonly step: ValidatedRange['step'];
  readonly parameter: string;
  readonly set: string;
  readonly ucum: string;
}

/** Of the steps that were done in the closure. */
const settingsOf = ({ recipe, does }: RecipeUse): Setting[] =>
  recipe.body.zones.flatMap((zone) =>
    zone.steps
      .filter(({ step }) => does(step))
      .flatMap((step) =>
        step.parameters.map((item) => ({ zone: zone.zone, zoneClass: zone.class, step: step.step, ...item })),
      ),
  );

/** A range for the zone's own class wins over one for every class. */
function rangeFor({ envelope }: ProcessValidation, setting: Setting): ValidatedRange | undefined {
  const fitting = envelope.filter((range) => range.step === setting.step && range.parameter === setting.parameter);
  return fitting.find((range) => range.zoneClass === setting.zoneClass) ?? fitting.find((range) => !range.zoneClass);
}

function settingFinding(use: RecipeUse, validation: ProcessValidation, setting: Setting): FindingDraft | undefined {
  const { key, build, recipe, units } = use;
  const common = {
    subjects: [
      subject('recipe', recipe.body.recipe),
      subject('process-validation', validation.validation),
      subject('build', build.build),
    ],
    units,
    effect: 'cannot be decided' as const,
    mayBeDecided: 'concession' as const,
  };
  const where = {
    recipe: key,
    zone: setting.zone,
    step: setting.step,
    parameter: setting.parameter,
    set: setting.set,
    unit: setting.ucum,
    validation: validation.validation,
  };
  const range = rangeFor(validation, setting);
  if (!range) {
    return {
      ...common,
      rule: 'setting not validated',
      facts: where,
    };
  }
  const validated = { ...where, lower: range.min, upper: range.max, limitUnit: range.ucum };
  const set = inUnitOf(setting, range);
  if (set === undefined) {
    return {
      ...common,
      rule: 'units do not compare',
      facts: validated,
    };
  }
  if (compareDecimal(set, range.min) >= 0 && compareDecimal(set, range.max) <= 0) return undefined;
  return {
    ...common,
    rule: 'outside the validated envelope',
    facts: validated,
    effect: 'does not conform',
  };
}

function inUnitOf(setting: Setting, range: ValidatedRange): string | undefined {
  try {
    return convert(setting.set, setting.ucum, range.ucum);
  } catch (error) {
    if (error instanceof AppError) return undefined;
    throw error;
  }
}

function findingsOf(facts: Facts, use: RecipeUse): FindingDraft[] {
  // That no validation covers the recipe is told by the check of the validation itself.
  const [validation] = validationsFor(facts, use);
  if (!validation) return [];
  return settingsOf(use).flatMap((setting) => settingFinding(use, validation.body, setting) ?? []);
}

export const recipeInsideEnvelope: Check = {
  code: 'recipe-inside-envelope',
  since: 1,
  clause: 'ISO 13485:2016 7.5.6',
  moment: 'build',
  run(facts) {
    const uses = recipeUses(facts);
    const covered = uses.filter((use) => validationsFor(facts, use).length > 0);
    return {
      findings: uses.flatMap((use) => findingsOf(facts, use)),
      basis: { uses: canonicalJson(covered.map((use) => [use.key, settingsOf(use).length, use.build.build])) },
      doesNotApply: covered.length === 0,
    };
  },
};
