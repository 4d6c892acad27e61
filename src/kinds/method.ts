import { z } from 'zod';
import { Approval, Code, Format, Moment, PositiveDecimal, Text, whole } from './fields.js';
import { defineKind, originalOf, tie } from './kind.js';

/** What an exposure may leave out, by its paths: a method names what it needs all the same. */
const TOLD_OF_EXPOSURES = [
  ...(['pH.most', 'pH.end', 'changeH', 'flowMlPerMin', 'gas', 'mask', 'sterilisedIn', 'control'] as const),
  ...(['massG.afterCleaning', 'massG.blankLoss', 'hydrogen', 'volumeMm3', 'deepestUm', 'minimumSectionMm'] as const),
] as const;

export const Method = z.strictObject({
  kind: z.literal('method'),
  format: Format,
  method: Code,
  revision: whole(1),
  title: Text,
  standard: Text.optional().describe('published standard that the method follows, with its edition'),
  conditions: Text.optional().describe('what must be held constant: medium, temperature, speed'),
  duration: z
    .strictObject({
      hours: PositiveDecimal,
      within: PositiveDecimal.optional().describe(
        'how much shorter or longer it may last (hours); when absent it lasts at least as long as stated',
      ),
    })
    .optional()
    .describe('how long the test lasts; result sheets then say when it was started'),
  mediumMlPerCm2: PositiveDecimal.optional().describe(
    'least volume of medium for the area that meets it, for exposures (mL/cm²)',
  ),
  exposureTells: z
    .array(z.enum(TOLD_OF_EXPOSURES))
    .min(1)
    .optional()
    .describe('what an exposure by it has to tell, beyond what each tells'),
  destructive: z.enum(['destructive', 'non-destructive']),
  operation: Text.optional().describe('operation that whoever uses it must be qualified for; its code when absent'),
  effectiveFrom: Moment,
  approval: Approval.optional(),
});
export type Method = z.infer<typeof Method>;

export const method = defineKind<Method>({
  kind: 'method',
  numbering: 'document',
  purpose: 'How a characteristic is measured, and under which conditions.',
  schema: Method,
  key: (document) => document.method,
  name: (document) => document.title,
  links: (document) =>
    document.approval
      ? [tie('approval claimed by', 'person', document.approval.by, 'approval.by', { aside: true })]
      : [],
  files: (document) => originalOf(document.approval, 'approval'),
});
