import { z } from 'zod';
import { Approval, Code, Format, Text, whole } from '../fields.js';
import { defineKind, originalOf, repeated, tie } from '../kind.js';
import { ASIDE, headTies } from './design-ties.js';

export const DesignInput = z.strictObject({
  kind: z.literal('design-input'),
  format: Format,
  input: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  text: Text.describe('what the design has to do, so that it can be tested'),
  source: Text.describe('where it comes from: a need, a law, a standard, the risk file'),
  meets: z
    .array(z.strictObject({ need: Code, revision: whole(1) }))
    .min(1)
    .optional()
    .describe('user needs that it serves'),
  characteristics: z
    .array(Code)
    .min(1)
    .optional()
    .describe('characteristics of specifications by which it is seen whether it is met'),
  approval: Approval.optional(),
});
export type DesignInput = z.infer<typeof DesignInput>;

export const designInput = defineKind<DesignInput>({
  kind: 'design-input',
  numbering: 'document',
  purpose: 'A requirement on the design, and the needs that it serves (ISO 13485 7.3.3).',
  schema: DesignInput,
  key: (document) => document.input,
  name: (document) => document.title,
  links: (document) => [
    ...headTies(document),
    ...(document.meets ?? []).map(({ need, revision }, index) =>
      tie('meets', 'user-need', need, `meets[${index}]`, { revision, ...ASIDE }),
    ),
  ],
  contradictions: ({ meets = [], characteristics = [] }) => [
    ...repeated(
      meets.map(({ need }) => need),
      (index) => `meets[${index}].need`,
      'need',
    ),
    ...repeated(characteristics, (index) => `characteristics[${index}]`, 'characteristic'),
  ],
  files: (document) => originalOf(document.approval, 'approval'),
});
