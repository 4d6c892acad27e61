import { z } from 'zod';
import { Code, Coupons, FilePath, Format, Implants, PastMoment, PositiveDecimal, Reason, Text } from '../fields.js';
import { type Contradiction, defineKind, ownChecker, repeated, tie } from '../kind.js';
import { partFaults, partLinks } from '../parts.js';

export const Disposal = z.strictObject({
  kind: z.literal('disposal'),
  format: Format,
  disposal: Code,
  implants: Implants.optional(),
  coupons: Coupons.optional(),
  powder: z
    .array(z.strictObject({ state: Code, massG: PositiveDecimal }))
    .min(1)
    .optional(),
  consumables: z.array(Code).min(1).optional(),
  how: Text.describe('how it was made useless'),
  at: PastMoment,
  by: Code,
  witness: Code.describe('who saw it'),
  evidence: FilePath.optional().describe('certificate of destruction, or a photograph'),
  reason: Reason,
});
export type Disposal = z.infer<typeof Disposal>;

function contradictions(document: Disposal): Contradiction[] {
  const { implants, coupons, powder = [], consumables = [], by, witness } = document;
  const hasParts = implants !== undefined || coupons !== undefined;
  return [
    ...(hasParts || powder.length + consumables.length === 0 ? partFaults(document) : []),
    ...repeated(
      powder.map(({ state }) => state),
      (index) => `powder[${index}].state`,
      'powder state',
    ),
    ...repeated(consumables, (index) => `consumables[${index}]`, 'consumable'),
    ...ownChecker('witness', witness, by),
  ];
}

export const disposal = defineKind<Disposal>({
  kind: 'disposal',
  numbering: 'running',
  purpose: 'Parts, powder and consumables that were destroyed, how, by whom, and who saw it.',
  schema: Disposal,
  key: (document) => document.disposal,
  name: (document) => `destroyed on ${document.at}`,
  links: (document) => [
    ...partLinks('destroys', document),
    ...(document.powder ?? []).map(({ state, massG }, index) =>
      tie('destroys', 'powder-state', state, `powder[${index}].state`, { massG }),
    ),
    ...(document.consumables ?? []).map((code, index) => tie('destroys', 'consumable', code, `consumables[${index}]`)),
    tie('destroyed by', 'person', document.by, 'by'),
    tie('destruction seen by', 'person', document.witness, 'witness'),
  ],
  contradictions,
  files: ({ evidence }) => (evidence === undefined ? [] : [{ path: evidence, field: 'evidence', name: 'attachment' }]),
});
