import { z } from 'zod';
import { endsTooEarly } from './contradictions.js';
import {
  Approval,
  Code,
  Decimal,
  Format,
  Moment,
  PastDay,
  PositiveDecimal,
  RecipeStep,
  Text,
  Ucum,
  whole,
} from './fields.js';
import { type Contradiction, defineKind, originalOf, repeated, tie } from './kind.js';

/** One setting of the machine and the range in which the process was shown to work. */
export const ValidatedRange = z.strictObject({
  step: RecipeStep,
  parameter: Text.describe('setting of the machine, named as in recipes'),
  zoneClass: Code.optional().describe('class of recipe zones it holds for; every class when absent'),
  ucum: Ucum,
  min: Decimal,
  max: Decimal,
});
export type ValidatedRange = z.infer<typeof ValidatedRange>;

/** What the pooled lots of the validation showed of one characteristic. */
export const Shown = z.strictObject({
  characteristic: Code.describe('characteristic, named as in specifications'),
  ucum: Ucum,
  n: whole(2).describe('number of values'),
  builds: whole(1).describe('number of builds they came from'),
  mean: Decimal,
  sd: PositiveDecimal.describe('standard deviation of the single values, divisor n − 1'),
  rationale: Text.describe('why this many values, and why they may be pooled'),
});
export type Shown = z.infer<typeof Shown>;

/** What becomes of one property between powder and deposited metal, as coupons of the validation showed it. */
export const DepositedChange = z.strictObject({
  property: Code.describe('element or property, as certificates of the powder name it'),
  ucum: Ucum,
  change: Decimal.describe('deposited less certified: below nothing what burns off, above it what is taken up'),
  standardUncertainty: PositiveDecimal,
  analysedAt: PastDay,
  report: Text.describe('number of the report'),
  holdsDays: whole(1, 3650).describe('how long after the analysis builds may rest on it (days)'),
});
export type DepositedChange = z.infer<typeof DepositedChange>;

const Stage = z.strictObject({ report: Text.describe('number of the report'), at: PastDay });

export const ProcessValidation = z.strictObject({
  kind: z.literal('process-validation'),
  format: Format,
  validation: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  machine: Code.describe('machine on which the process was validated'),
  recipeGroups: z.array(Code).min(1).describe('recipe groups that it covers'),
  installation: Stage.describe('installation qualification'),
  operation: Stage.describe('operational qualification'),
  performance: Stage.describe('performance qualification'),
  envelope: z.array(ValidatedRange).min(1).describe('validated range of every setting of the recipes'),
  shown: z.array(Shown).default([]).describe('statistics of the pooled lots, by characteristic'),
  depositedMetal: z
    .array(DepositedChange)
    .optional()
    .describe('for lots of which no coupon is analysed: what changes between powder and deposited metal'),
  validFrom: Moment,
  validUntil: Moment,
  triggers: Text.describe('what makes a new validation necessary'),
  approval: Approval.optional(),
});
export type ProcessValidation = z.infer<typeof ProcessValidation>;

function contradictions(document: ProcessValidation): Contradiction[] {
  const { envelope, shown, depositedMetal = [], validFrom, validUntil } = document;
  return [
    ...repeated(
      envelope.map((range) => [range.step, range.parameter, range.zoneClass ?? 'every zone class'].join(', ')),
      (index) => `envelope[${index}].parameter`,
      'setting',
    ),
    ...repeated(
      shown.map((item) => item.characteristic),
      (index) => `shown[${index}].characteristic`,
      'characteristic',
    ),
    ...repeated(
      depositedMetal.map(({ property }) => property),
      (index) => `depositedMetal[${index}].property`,
      'property',
    ),
    ...envelope.flatMap((range, index) =>
      Number(range.min) > Number(range.max)
        ? [
            {
              field: `envelope[${index}]`,
              found: `${range.min} to ${range.max}`,
              expected: 'min not above max',
              remedy: 'swap the two ends',
            },
          ]
        : [],
    ),
    ...endsTooEarly('validUntil', validUntil, validFrom),
  ];
}

export const processValidation = defineKind<ProcessValidation>({
  kind: 'process-validation',
  numbering: 'document',
  purpose:
    'Proof that the process works within an envelope of settings, where its output cannot be fully verified later.',
  schema: ProcessValidation,
  key: (document) => document.validation,
  name: (document) => document.title,
  links: (document) => [
    tie('of family', 'family', document.family, 'family', { aside: true }),
    tie('on machine', 'machine', document.machine, 'machine', { aside: true }),
    ...(document.approval ? [tie('approval claimed by', 'person', document.approval.by, 'approval.by')] : []),
  ],
  contradictions,
  files: (document) => originalOf(document.approval, 'approval'),
});
