import { z } from 'zod';
import { Code, Format, Implants, PastMoment, Reason, Text, whole } from '../fields.js';
import { defineKind, tie } from '../kind.js';
import { partFaults, partLinks } from '../parts.js';

export const Handover = z.strictObject({
  kind: z.literal('handover'),
  format: Format,
  handover: Code,
  implants: Implants,
  to: z.strictObject({ institution: Text, address: Text }),
  at: PastMoment,
  by: Code.describe('who handed them over'),
  carrier: Text.optional().describe('who carried them, and under which number'),
  record: z
    .strictObject({ number: Text, revision: whole(1) })
    .optional()
    .describe('lot record that went with them'),
  condition: Text.optional().describe('state of packs and labels when they left'),
  unreleased: z
    .strictObject({
      authority: Text.describe('who took them or ordered that they go: an authority, a court, a person by name'),
      why: Text,
      nonconformity: Code.describe(
        'nonconformity that touches each of them; it is opened with the handover where none is on record',
      ),
    })
    .optional()
    .describe('only where they were taken away although they were not released, or on hold'),
  reason: Reason,
});
export type Handover = z.infer<typeof Handover>;

export const handover = defineKind<Handover>({
  kind: 'handover',
  numbering: 'running',
  purpose: 'Units that left the cell: to which institution, when, and by whom.',
  schema: Handover,
  key: (document) => document.handover,
  name: (document) =>
    `${document.implants.length} ${document.implants.length === 1 ? 'unit' : 'units'} to ${document.to.institution}`,
  links: (document) => [
    ...partLinks('hands over', document),
    tie('handed over by', 'person', document.by, 'by'),
    ...(document.unreleased === undefined
      ? []
      : [tie('led to', 'nonconformity', document.unreleased.nonconformity, 'unreleased.nonconformity')]),
  ],
  contradictions: partFaults,
});
