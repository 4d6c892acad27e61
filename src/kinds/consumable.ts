import { z } from 'zod';
import { amountOf } from './amount.js';
import { Code, Format, MaterialRef, PastMoment, Quantity, Reason } from './fields.js';
import { defineKind, repeated, tie, tooEarly } from './kind.js';

const Taken = z.union([
  z.strictObject({ receipt: Code, quantity: Quantity.optional() }).describe('taken from what was received'),
  z.strictObject({ consumable: Code, quantity: Quantity.optional() }).describe('taken from another consumable'),
]);

export const Consumable = z.strictObject({
  kind: z.literal('consumable'),
  format: Format,
  consumable: Code.describe('number of this one piece, filling or batch'),
  category: z.enum([
    'peening media',
    'tip',
    'milling tool',
    'filter',
    'bath',
    'coating material',
    'packaging',
    'medium',
    'gas bottle',
  ]),
  material: Code.describe('what touches the parts, as material specifications name it'),
  materialSpecification: MaterialRef.optional(),
  made: z.array(Taken).min(1).describe('what it was taken from or mixed of, with amounts'),
  machine: Code.optional().describe('machine in which it is mounted or filled'),
  by: Code.describe('who put it into use'),
  inUseFrom: PastMoment,
  retiredAt: PastMoment.optional().describe('when its use ended'),
  reason: Reason,
});
export type Consumable = z.infer<typeof Consumable>;

const sourceOf = (taken: Consumable['made'][number]) =>
  'receipt' in taken
    ? { kind: 'receipt' as const, key: taken.receipt }
    : { kind: 'consumable' as const, key: taken.consumable };

export const consumable = defineKind<Consumable>({
  kind: 'consumable',
  numbering: 'running',
  purpose:
    'What touches the parts and wears out: media, tips, tools, filters, baths, packs, gas bottles, each by itself.',
  schema: Consumable,
  key: (document) => document.consumable,
  name: (document) => `${document.category} of ${document.material}`,
  links: (document) => [
    ...document.made.map((taken, index) => {
      const { kind, key } = sourceOf(taken);
      const name = kind === 'receipt' ? 'taken from receipt' : 'taken from consumable';
      return tie(name, kind, key, `made[${index}].${kind}`, amountOf(taken.quantity));
    }),
    ...(document.materialSpecification
      ? [
          tie(
            'to material specification',
            'material-specification',
            document.materialSpecification.material,
            'materialSpecification',
            { revision: document.materialSpecification.revision },
          ),
        ]
      : []),
    ...(document.machine === undefined
      ? []
      : [tie('filled on', 'machine', document.machine, 'machine', { aside: true })]),
    tie('made by', 'person', document.by, 'by'),
  ],
  contradictions: (document) => [
    ...tooEarly('retiredAt', document.retiredAt, document.inUseFrom, 'it came into use'),
    ...repeated(
      document.made.map((taken) => `${sourceOf(taken).kind} ${sourceOf(taken).key}`),
      (index) => `made[${index}]`,
      'source',
    ),
    ...document.made.flatMap((taken, index) =>
      'consumable' in taken && taken.consumable === document.consumable
        ? [
            {
              field: `made[${index}].consumable`,
              found: `${taken.consumable}, which is itself`,
              expected: 'what it was taken from',
              remedy: 'name the receipt or the other consumable',
            },
          ]
        : [],
    ),
  ],
});
