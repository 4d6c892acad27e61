import { z } from 'zod';
import { Approval, Code, Format, Moment, RecipeStep, StepAfterBuild, Text, whole } from './fields.js';
import { defineKind, originalOf, repeated, tie } from './kind.js';

export const ReworkInstruction = z.strictObject({
  kind: z.literal('rework-instruction'),
  format: Format,
  instruction: Code,
  revision: whole(1),
  title: Text,
  nonconformity: Code.describe('for which it was written, and for no other'),
  steps: z
    .array(z.strictObject({ step: z.enum([...RecipeStep.options, ...StepAfterBuild.options]), how: Text }))
    .min(1)
    .describe('what is done, in this order'),
  disturbs: z.array(Code).min(1).describe('characteristics of which earlier results stop counting'),
  repeat: z.array(Code).min(1).describe('characteristics that are measured again afterwards'),
  timesAtMost: whole(1, 100).describe('how often one unit may go through it'),
  sideEffects: Text.describe('what else the rework may do to a unit, and why that is no harm'),
  effectiveFrom: Moment,
  approval: Approval.optional(),
});
export type ReworkInstruction = z.infer<typeof ReworkInstruction>;

export const reworkInstruction = defineKind<ReworkInstruction>({
  kind: 'rework-instruction',
  numbering: 'document',
  purpose: 'How units of a nonconformity are brought back to what they must be, and what must be measured again.',
  schema: ReworkInstruction,
  key: (document) => document.instruction,
  name: (document) => document.title,
  links: (document) => [
    tie('for nonconformity', 'nonconformity', document.nonconformity, 'nonconformity'),
    ...(document.approval ? [tie('approval claimed by', 'person', document.approval.by, 'approval.by')] : []),
  ],
  contradictions: (document) => [
    ...repeated(document.disturbs, (index) => `disturbs[${index}]`, 'characteristic'),
    ...repeated(document.repeat, (index) => `repeat[${index}]`, 'characteristic'),
    ...document.disturbs.flatMap((characteristic, index) =>
      document.repeat.includes(characteristic)
        ? []
        : [
            {
              field: `disturbs[${index}]`,
              found: `${characteristic}, which is not measured again`,
              expected: 'a characteristic that stands under repeat too',
              remedy: 'add it to repeat: its earlier results stop counting',
            },
          ],
    ),
  ],
  files: (document) => originalOf(document.approval, 'approval'),
});
