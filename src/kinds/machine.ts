import { z } from 'zod';
import { Code, Format, Reason, Text } from './fields.js';
import { defineKind } from './kind.js';

export const Machine = z.strictObject({
  kind: z.literal('machine'),
  format: Format,
  machine: Code,
  title: Text,
  location: Text,
  does: z.array(z.enum(['deposit', 'peen', 'mill'])).min(1),
  reason: Reason,
});
export type Machine = z.infer<typeof Machine>;

export const machine = defineKind<Machine>({
  kind: 'machine',
  title: 'machine',
  numbering: 'running',
  purpose: 'A machine of the cell and where it stands.',
  schema: Machine,
  key: (document) => document.machine,
  name: (document) => document.title,
});
