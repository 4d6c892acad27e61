import { z } from 'zod';
import { endsTooEarly } from './contradictions.js';
import { Approval, Code, Format, Moment, Text, whole } from './fields.js';
import { defineKind, originalOf, tie } from './kind.js';

export const EquivalenceStudy = z.strictObject({
  kind: z.literal('equivalence-study'),
  format: Format,
  study: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  machine: Code,
  recipeGroups: z.array(Code).min(1),
  zoneClasses: z.array(Code).min(1).describe('classes of recipe zones for which coupons were compared with implants'),
  characteristics: z.array(Code).min(1).describe('characteristics in which they were compared'),
  positions: z.array(Code).default([]).describe('places in the chamber that were compared; every place when empty'),
  orientations: z.array(Code).default([]).describe('orientations that were compared; every one when empty'),
  conclusion: Text.describe('what the study shows, with the deviations between coupon and implant'),
  report: Text.describe('number of the report'),
  validFrom: Moment,
  validUntil: Moment.optional(),
  approval: Approval.optional(),
});
export type EquivalenceStudy = z.infer<typeof EquivalenceStudy>;

export const equivalenceStudy = defineKind<EquivalenceStudy>({
  kind: 'equivalence-study',
  numbering: 'document',
  purpose: 'Proof that coupons speak for implants: in which zones, characteristics, places and orientations.',
  schema: EquivalenceStudy,
  key: (document) => document.study,
  name: (document) => document.title,
  links: (document) => [
    tie('of family', 'family', document.family, 'family', { aside: true }),
    tie('on machine', 'machine', document.machine, 'machine', { aside: true }),
    ...(document.approval ? [tie('approval claimed by', 'person', document.approval.by, 'approval.by')] : []),
  ],
  contradictions: ({ validFrom, validUntil }) => endsTooEarly('validUntil', validUntil, validFrom),
  files: (document) => originalOf(document.approval, 'approval'),
});
