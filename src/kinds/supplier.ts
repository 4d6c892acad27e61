import { z } from 'zod';
import { Code, Day, Format, Reason, Sha256, Text } from './fields.js';
import { defineKind, repeated } from './kind.js';

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
  signsWith: z
    .array(
      z.strictObject({
        sha256: Sha256.describe('SHA-256 of the certificate (X.509, DER), or of the one that issued it'),
        basis: Text.describe('how it was made sure that it is theirs'),
      }),
    )
    .optional()
    .describe(
      'certificates by which it signs: what one of them signed, such as a digital calibration certificate, is trusted',
    ),
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
  contradictions: ({ signsWith = [] }) =>
    repeated(
      signsWith.map(({ sha256 }) => sha256),
      (index) => `signsWith[${index}].sha256`,
      'certificate',
    ),
});
