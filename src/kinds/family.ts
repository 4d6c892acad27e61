import { z } from 'zod';
import { Approval, Code, Format, Moment, Text, whole } from './fields.js';
import { defineKind, originalOf } from './kind.js';

export const Family = z.strictObject({
  kind: z.literal('family'),
  format: Format,
  family: Code.describe('code of the device family'),
  revision: whole(1),
  title: Text,
  alloy: Text.describe('alloy as the drawing names it'),
  intendedUse: Text,
  route: z
    .enum(['market', 'patient-matched', 'custom-made', 'investigational', 'in-house'])
    .describe('legal route on which units reach patients'),
  classEu: Text.optional().describe(
    'class under Regulation (EU) 2017/745; wholly absorbed implants: III (Annex VIII rule 8)',
  ),
  sterile: z.enum(['sterile', 'non-sterile']),
  lifetime: z
    .strictObject({ years: whole(1, 100), basis: Text })
    .describe('device lifetime as the maker defines it: implantation until absorption and healing follow-up'),
  effectiveFrom: Moment,
  approval: Approval.optional(),
});
export type Family = z.infer<typeof Family>;

export const family = defineKind<Family>({
  kind: 'family',
  title: 'device family',
  numbering: 'document',
  purpose: 'The type of implant: what it is for, of which alloy, on which legal route, and how long records must last.',
  schema: Family,
  key: (document) => document.family,
  name: (document) => document.title,
  links: (document) =>
    document.approval
      ? [{ name: 'approval claimed by', kind: 'person', key: document.approval.by, field: 'approval.by' }]
      : [],
  files: (document) => originalOf(document.approval, 'approval'),
});
