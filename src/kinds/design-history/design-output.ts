import { z } from 'zod';
import { needed } from '../contradictions.js';
import { Approval, Code, Format, Text, whole, YesNo } from '../fields.js';
import { type Contradiction, defineKind, originalOf, repeated, tie } from '../kind.js';
import { RevisionRef } from '../references.js';
import { ASIDE, headTies } from './design-ties.js';
import { SAID_OF_DESIGN } from './said-of-design.js';

export const DesignOutput = z.strictObject({
  kind: z.literal('design-output'),
  format: Format,
  output: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  what: RevisionRef.describe('document that says it, such as a specification or a recipe'),
  meets: z
    .array(z.strictObject({ input: Code, revision: whole(1) }))
    .min(1)
    .optional()
    .describe('inputs that it answers'),
  essential: YesNo.describe('whether safe and proper use depends on it'),
  criterion: Text.optional().describe('when it is accepted; needed where it is essential'),
  approval: Approval.optional(),
});
export type DesignOutput = z.infer<typeof DesignOutput>;

const givesDesign = (kind: string): Contradiction => ({
  field: 'what.kind',
  found: kind,
  expected: 'what devices are made, tested or labelled by, such as a specification, a recipe or a drawing',
  remedy: 'name the document that follows from the design, and tie inputs under meets',
});

export const designOutput = defineKind<DesignOutput>({
  kind: 'design-output',
  numbering: 'document',
  purpose: 'What the design gives to those who make it, and the inputs that it answers (ISO 13485 7.3.4).',
  schema: DesignOutput,
  key: (document) => document.output,
  name: (document) => document.title,
  links: (document) => [
    ...headTies(document),
    ...(document.meets ?? []).map(({ input, revision }, index) =>
      tie('meets', 'design-input', input, `meets[${index}]`, { revision, ...ASIDE }),
    ),
    tie('gives', document.what.kind, document.what.key, 'what', { revision: document.what.revision, ...ASIDE }),
  ],
  contradictions: ({ what, meets = [], essential, criterion }) => [
    ...(SAID_OF_DESIGN.includes(what.kind) ? [givesDesign(what.kind)] : []),
    ...repeated(
      meets.map(({ input }) => input),
      (index) => `meets[${index}].input`,
      'input',
    ),
    ...(essential === 'yes' ? needed('criterion', criterion, 'it is essential', 'when it is accepted') : []),
  ],
  files: (document) => originalOf(document.approval, 'approval'),
});
