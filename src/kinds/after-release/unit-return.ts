import { z } from 'zod';
import { Code, Format, Implants, PastMoment, Reason, Text } from '../fields.js';
import { defineKind, tie } from '../kind.js';
import { partFaults, partLinks } from '../parts.js';

export const UnitReturn = z.strictObject({
  kind: z.literal('unit-return'),
  format: Format,
  return: Code,
  implants: Implants,
  from: Text.describe('institution that sent them back'),
  why: Text,
  condition: Text.describe('state of unit, pack and label as they came'),
  at: PastMoment,
  by: Code.describe('who took them back'),
  reason: Reason,
});
export type UnitReturn = z.infer<typeof UnitReturn>;

export const unitReturn = defineKind<UnitReturn>({
  kind: 'unit-return',
  numbering: 'running',
  purpose: 'Units that came back, from where, why, and in which state.',
  schema: UnitReturn,
  key: (document) => document.return,
  name: (document) =>
    `${document.implants.length} ${document.implants.length === 1 ? 'unit' : 'units'} from ${document.from}`,
  links: (document) => [...partLinks('takes back', document), tie('taken back by', 'person', document.by, 'by')],
  contradictions: partFaults,
});
