import { z } from 'zod';
import { endsTooEarly } from './contradictions.js';
import { Approval, Code, Decimal, Format, Moment, NotNegative, Text, Ucum, whole } from './fields.js';
import { type Contradiction, defineKind, originalOf, repeated, tie } from './kind.js';

export const EquivalenceStudy = z.strictObject({
  kind: z.literal('equivalence-study'),
  format: Format,
  study: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  machine: Code,
  recipeGroups: z.array(Code).min(1),
  zoneClasses: z.array(Code).min(1).describe('classes of recipe zones for which coupons were compared with implants'),
  characteristics: z.array(Code).min(1).describe('characteristics in which they were compared'),
  positions: z.array(Code).default([]).describe('places in the chamber that were compared; every place when empty'),
  orientations: z.array(Code).default([]).describe('orientations that were compared; every one when empty'),
  differences: z
    .array(
      z.strictObject({
        characteristic: Code,
        bias: Decimal.describe('by how much a coupon reads above the implant'),
        standardUncertainty: NotNegative.describe('of the bias'),
        ucum: Ucum.optional().describe('unit of both; when absent both are shares of the value: 0.01 is one hundredth'),
      }),
    )
    .optional()
    .describe('what the study found: limits on coupons are moved by it; none found when absent'),
  conclusion: Text.describe('what the study shows, with the deviations between coupon and implant'),
  report: Text.describe('number of the report'),
  validFrom: Moment,
  validUntil: Moment.optional(),
  approval: Approval.optional(),
});
export type EquivalenceStudy = z.infer<typeof EquivalenceStudy>;

function differenceFaults({ differences = [], characteristics }: EquivalenceStudy): Contradiction[] {
  return [
    ...repeated(
      differences.map(({ characteristic }) => characteristic),
      (index) => `differences[${index}].characteristic`,
      'difference',
    ),
    ...differences.flatMap(({ characteristic }, index) =>
      characteristics.includes(characteristic)
        ? []
        : [
            {
              field: `differences[${index}].characteristic`,
              found: characteristic,
              expected: `a characteristic that was compared: ${characteristics.join(', ')}`,
              remedy: 'add it to the characteristics, or correct the name',
            },
          ],
    ),
    ...differences.flatMap(({ bias, ucum }, index) =>
      ucum !== undefined || Math.abs(Number(bias)) < 1
        ? []
        : [
            {
              field: `differences[${index}].bias`,
              found: bias,
              expected: 'a share between -1 and 1, or a unit beside it',
              remedy: 'write one hundredth as 0.01, or state the unit in ucum',
            },
          ],
    ),
  ];
}

export const equivalenceStudy = defineKind<EquivalenceStudy>({
  kind: 'equivalence-study',
  numbering: 'document',
  purpose: 'Proof that coupons speak for implants: in which zones, characteristics, places and orientations.',
  schema: EquivalenceStudy,
  key: (document) => document.study,
  name: (document) => document.title,
  links: (document) => [
    tie('of family', 'family', document.family, 'family', { aside: true }),
    tie('on machine', 'machine', document.machine, 'machine', { aside: true }),
    ...(document.approval ? [tie('approval claimed by', 'person', document.approval.by, 'approval.by')] : []),
  ],
  contradictions: (document) => [
    ...endsTooEarly('validUntil', document.validUntil, document.validFrom),
    ...differenceFaults(document),
  ],
  files: (document) => originalOf(document.approval, 'approval'),
});
