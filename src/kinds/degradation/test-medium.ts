import { z } from 'zod';
import { Approval, Code, Decimal, Format, Moment, NotNegative, Text, Ucum, whole } from '../fields.js';
import { approvedBy, type Contradiction, defineKind, originalOf, repeated, reversed } from '../kind.js';

/** Dilute solutions keep to this scale. */
export const PH = Decimal.refine((text) => Number(text) >= 0 && Number(text) <= 14, {
  error: 'a pH between 0 and 14',
}).describe('pH');

export const TestMedium = z.strictObject({
  kind: z.literal('test-medium'),
  format: Format,
  medium: Code,
  revision: whole(1),
  title: Text,
  components: z
    .array(z.strictObject({ component: Text, amount: NotNegative, ucum: Ucum }))
    .min(1)
    .describe('what it is made of, each with its concentration'),
  buffer: Text.describe('what holds its pH, or "none"'),
  gas: Text.describe('gas above or through it with its shares, or "air"'),
  proteins: Text.describe('proteins in it with their concentration, or "none"'),
  pH: z.strictObject({ min: PH, max: PH }).describe('within which it is ready for use'),
  effectiveFrom: Moment,
  approval: Approval.optional(),
});
export type TestMedium = z.infer<typeof TestMedium>;

function contradictions({ components, pH }: TestMedium): Contradiction[] {
  return [
    ...repeated(
      components.map(({ component }) => component),
      (index) => `components[${index}].component`,
      'component',
    ),
    ...reversed('pH', { lower: pH.min, upper: pH.max }),
  ];
}

export const testMedium = defineKind<TestMedium>({
  kind: 'test-medium',
  numbering: 'document',
  purpose: 'The recipe of a medium in which specimens degrade. Its batches are consumables.',
  schema: TestMedium,
  key: (document) => document.medium,
  name: (document) => document.title,
  links: (document) => approvedBy(document.approval),
  contradictions,
  files: (document) => originalOf(document.approval, 'approval'),
});
