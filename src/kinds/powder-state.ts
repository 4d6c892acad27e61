import { z } from 'zod';
import { compareDecimal, sumDecimals } from '../base/decimal.js';
import {
  Code,
  Decimal,
  Format,
  MethodRef,
  NotNegative,
  PastMoment,
  PositiveDecimal,
  Reason,
  Text,
  Ucum,
  YesNo,
} from './fields.js';
import { type Contradiction, defineKind, repeated, tie, tooEarly } from './kind.js';

const Input = z.union([
  z.strictObject({ receipt: Code, massG: PositiveDecimal }).describe('powder as it was received'),
  z.strictObject({ state: Code, massG: PositiveDecimal }).describe('an earlier powder state'),
]);

const Test = z.strictObject({
  property: Code.describe('moisture, oxygen, or what else was measured'),
  value: Decimal,
  ucum: Ucum,
  uncertainty: PositiveDecimal.optional().describe('standard uncertainty, in the same unit'),
  detectionLimit: PositiveDecimal.optional().describe('least value that the method can find, in the same unit'),
  method: MethodRef.optional(),
  instrument: Code,
  by: Code,
  at: PastMoment,
});

export const PowderState = z.strictObject({
  kind: z.literal('powder-state'),
  format: Format,
  state: Code,
  operation: z.enum(['fill', 'blend', 'top-up', 'sieve', 'dry', 'recover', 'split', 'purge', 'discard']),
  madeAt: PastMoment,
  madeBy: Code,
  inputs: z
    .array(Input)
    .min(1)
    .describe('what went in, with masses: no more than there was, and never the state itself'),
  yieldG: NotNegative.optional().describe('what came out (grams); when absent all that went in, less the loss'),
  lossG: NotNegative.optional().describe('what was lost on the way, such as what the sieve held back (grams)'),
  weighedWith: Code.optional().describe('balance by which the masses were taken'),
  hopper: Code.optional().describe('hopper or container in which it lies'),
  sieve: z.strictObject({ meshUm: PositiveDecimal.describe('mesh width (micrometres)') }).optional(),
  drying: z.strictObject({ temperatureC: Decimal, hours: PositiveDecimal, vacuum: YesNo }).optional(),
  tests: z.array(Test).optional().describe('what was measured of it'),
  note: Text.optional(),
  reason: Reason,
});
export type PowderState = z.infer<typeof PowderState>;

const sourceOf = (input: PowderState['inputs'][number]): string =>
  'receipt' in input ? `receipt ${input.receipt}` : `powder state ${input.state}`;

/** Grams that may be taken from a state. */
export const yieldOf = ({ inputs, yieldG, lossG = '0' }: PowderState): string =>
  yieldG ?? sumDecimals([...inputs.map(({ massG }) => massG), lossG.replace(/^[+-]?/, '-')]);

/** Nothing comes out of powder that did not go in. */
function massFaults({ inputs, yieldG, lossG }: PowderState): Contradiction[] {
  const into = sumDecimals(inputs.map(({ massG }) => massG));
  const out = sumDecimals([yieldG ?? '0', lossG ?? '0']);
  if (compareDecimal(out, into) <= 0) return [];
  return [
    {
      field: yieldG === undefined ? 'lossG' : 'yieldG',
      found: `${out} g as yield and loss`,
      expected: `at most the ${into} g that went in`,
      remedy: 'correct the mass that is wrong',
    },
  ];
}

export const powderState = defineKind<PowderState>({
  kind: 'powder-state',
  numbering: 'running',
  purpose: 'Powder with its history. Each mix or top-up makes a new state whose parents are the inputs.',
  schema: PowderState,
  key: (document) => document.state,
  name: (document) =>
    `${document.operation} of ${document.inputs.length} ${document.inputs.length === 1 ? 'input' : 'inputs'}`,
  links: (document) => [
    tie('made by', 'person', document.madeBy, 'madeBy'),
    ...document.inputs.map((input, index) =>
      'receipt' in input
        ? tie('contains receipt', 'receipt', input.receipt, `inputs[${index}].receipt`, { massG: input.massG })
        : tie('contains powder state', 'powder-state', input.state, `inputs[${index}].state`, { massG: input.massG }),
    ),
    ...(document.weighedWith === undefined
      ? []
      : [tie('weighed with', 'instrument', document.weighedWith, 'weighedWith')]),
    ...(document.tests ?? []).flatMap(({ instrument, by, method }, index) => [
      tie('measured with', 'instrument', instrument, `tests[${index}].instrument`),
      tie('tested by', 'person', by, `tests[${index}].by`),
      ...(method === undefined
        ? []
        : [tie('by method', 'method', method.method, `tests[${index}].method`, { revision: method.revision })]),
    ]),
  ],
  contradictions: (document) => [
    ...repeated(document.inputs.map(sourceOf), (index) => `inputs[${index}]`, 'input'),
    ...massFaults(document),
    ...(document.tests ?? []).flatMap(({ at }, index) =>
      tooEarly(`tests[${index}].at`, at, document.madeAt, 'it was made'),
    ),
  ],
});
