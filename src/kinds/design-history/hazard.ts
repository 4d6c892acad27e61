import { z } from 'zod';
import { Approval, Code, Format, Text, whole } from '../fields.js';
import { defineKind, originalOf } from '../kind.js';
import { headTies } from './design-ties.js';

export const Hazard = z.strictObject({
  kind: z.literal('hazard'),
  format: Format,
  hazard: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  situation: Text.describe('how it comes to harm'),
  harm: Text,
  severity: Code.describe('class of severity of the own risk procedure'),
  probability: z.strictObject({
    before: Code.describe('class of probability before any control'),
    after: Code.optional().describe('class of probability with all its controls'),
  }),
  approval: Approval.optional(),
});
export type Hazard = z.infer<typeof Hazard>;

export const hazard = defineKind<Hazard>({
  kind: 'hazard',
  numbering: 'document',
  purpose: 'What could do harm, how bad that would be and how likely it is, before and after its controls (ISO 14971).',
  schema: Hazard,
  key: (document) => document.hazard,
  name: (document) => document.title,
  links: headTies,
  files: (document) => originalOf(document.approval, 'approval'),
});
