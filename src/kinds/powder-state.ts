import { z } from 'zod';
import { Code, Decimal, Format, Moment, PositiveDecimal, Reason, Text, whole } from './fields.js';
import { defineKind } from './kind.js';

export const PowderState = z.strictObject({
  kind: z.literal('powder-state'),
  format: Format,
  state: Code,
  operation: z.enum(['fill', 'blend', 'top-up', 'sieve', 'dry', 'recover']),
  madeAt: Moment,
  madeBy: Code,
  inputs: z
    .array(
      z.union([
        z.strictObject({ receipt: Code, massG: PositiveDecimal }).describe('powder as it was received'),
        z.strictObject({ state: Code, massG: PositiveDecimal }).describe('an earlier powder state'),
      ]),
    )
    .min(1)
    .describe('what went in, with masses: no more than there was, and never the state itself'),
  reuseCycle: whole(0, 1000).describe('how often the most used part has been through the machine'),
  moistureUgPerG: Decimal.optional().describe('moisture by Karl Fischer, µg/g'),
  note: Text.optional(),
  reason: Reason,
});
export type PowderState = z.infer<typeof PowderState>;

export const powderState = defineKind<PowderState>({
  kind: 'powder-state',
  title: 'powder state',
  numbering: 'running',
  purpose: 'Powder with its history. Each mix or top-up makes a new state whose parents are the inputs.',
  schema: PowderState,
  key: (document) => document.state,
  name: (document) => `${document.operation} of ${document.inputs.length} input(s)`,
  links: (document) => [
    { name: 'made by', kind: 'person', key: document.madeBy, field: 'madeBy' },
    ...document.inputs.map((input, index) =>
      'receipt' in input
        ? {
            name: 'contains receipt',
            kind: 'receipt',
            key: input.receipt,
            massG: input.massG,
            field: `inputs[${index}].receipt`,
          }
        : {
            name: 'contains powder state',
            kind: 'powder-state',
            key: input.state,
            massG: input.massG,
            field: `inputs[${index}].state`,
          },
    ),
  ],
});
