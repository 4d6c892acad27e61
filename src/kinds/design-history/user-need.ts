import { z } from 'zod';
import { Approval, Code, Format, Text, whole } from '../fields.js';
import { defineKind, originalOf } from '../kind.js';
import { headTies } from './design-ties.js';

export const UserNeed = z.strictObject({
  kind: z.literal('user-need'),
  format: Format,
  need: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  text: Text,
  source: Text.describe('who needs it, and where that was said'),
  approval: Approval.optional(),
});
export type UserNeed = z.infer<typeof UserNeed>;

export const userNeed = defineKind<UserNeed>({
  kind: 'user-need',
  numbering: 'document',
  purpose: 'What users, and those who are treated, need of the family.',
  schema: UserNeed,
  key: (document) => document.need,
  name: (document) => document.title,
  links: headTies,
  files: (document) => originalOf(document.approval, 'approval'),
});
