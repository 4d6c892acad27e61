import { z } from 'zod';
import { Code, Decimal, Format, Moment, PositiveDecimal, Reason, Text, whole } from './fields.js';
import { defineKind, tie } from './kind.js';

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
    tie('made by', 'person', document.madeBy, 'madeBy'),
    ...document.inputs.map((input, index) =>
      'receipt' in input
        ? tie('contains receipt', 'receipt', input.receipt, `inputs[${index}].receipt`, { massG: input.massG })
        : tie('contains powder state', 'powder-state', input.state, `inputs[${index}].state`, { massG: input.massG }),
    ),
  ],
});
