import { z } from 'zod';
import { Code, Coupons, Format, Implants, PastMoment, Reason, Text } from './fields.js';
import { defineKind, tie } from './kind.js';
import { partFaults, partLinks } from './parts.js';

export const UnitMove = z.strictObject({
  kind: z.literal('unit-move'),
  format: Format,
  move: Code,
  fromLot: Code,
  toLot: Code,
  implants: Implants.optional(),
  coupons: Coupons.optional(),
  why: Text,
  by: Code,
  at: PastMoment,
  reason: Reason,
});
export type UnitMove = z.infer<typeof UnitMove>;

export const unitMove = defineKind<UnitMove>({
  kind: 'unit-move',
  numbering: 'running',
  purpose: 'Units that go on in another lot, with the evidence of the build in which they were made.',
  schema: UnitMove,
  key: (document) => document.move,
  name: (document) => `from lot ${document.fromLot} to lot ${document.toLot}`,
  links: (document) => [
    tie('moved from', 'lot', document.fromLot, 'fromLot', { aside: true }),
    tie('moved to', 'lot', document.toLot, 'toLot', { aside: true }),
    ...partLinks('moves', document),
    tie('moved by', 'person', document.by, 'by'),
  ],
  contradictions: (document) => [
    ...partFaults(document),
    ...(document.fromLot === document.toLot
      ? [
          {
            field: 'toLot',
            found: document.toLot,
            expected: 'another lot than the one they come from',
            remedy: 'correct one of the two lots',
          },
        ]
      : []),
  ],
});
