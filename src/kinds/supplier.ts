import { z } from 'zod';
import { Code, Day, Format, Reason, Text } from './fields.js';
import { defineKind } from './kind.js';

export const Supplier = z.strictObject({
  kind: z.literal('supplier'),
  format: Format,
  supplier: Code,
  title: Text,
  address: Text.optional(),
  approvals: z
    .array(
      z.strictObject({
        scope: Text.describe('code of a material, or the title of its material specification, in whatever letters'),
        from: Day,
        to: Day,
        basis: Text,
      }),
    )
    .default([])
    .describe('what the supplier is approved for, and from when to when'),
  reason: Reason,
});
export type Supplier = z.infer<typeof Supplier>;

export const supplier = defineKind<Supplier>({
  kind: 'supplier',
  numbering: 'running',
  purpose: 'Who delivers material or service, and for what they are approved.',
  schema: Supplier,
  key: (document) => document.supplier,
  name: (document) => document.title,
});
