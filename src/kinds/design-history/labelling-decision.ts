import { z } from 'zod';
import { Approval, Code, Format, Law, Text, whole } from '../fields.js';
import { defineKind, originalOf, repeated } from '../kind.js';
import { headTies } from './design-ties.js';

export const LabellingDecision = z.strictObject({
  kind: z.literal('labelling-decision'),
  format: Format,
  labelling: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  about: z.enum(['label', 'instructions for use', 'implant card', 'UDI', 'languages']),
  laws: z.array(Law).min(1).describe('laws under which it holds'),
  decision: Text,
  why: Text,
  approval: Approval.optional(),
});
export type LabellingDecision = z.infer<typeof LabellingDecision>;

export const labellingDecision = defineKind<LabellingDecision>({
  kind: 'labelling-decision',
  numbering: 'document',
  purpose: 'What goes with each unit of the family, under which laws, and why.',
  schema: LabellingDecision,
  key: (document) => document.labelling,
  name: (document) => document.title,
  links: headTies,
  contradictions: ({ laws }) => repeated(laws, (index) => `laws[${index}]`, 'law'),
  files: (document) => originalOf(document.approval, 'approval'),
});
