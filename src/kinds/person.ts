import { z } from 'zod';
import { Code, Day, Format, Reason, Text } from './fields.js';
import { defineKind } from './kind.js';

export const Person = z.strictObject({
  kind: z.literal('person'),
  format: Format,
  person: Code.describe('code that is never given to anybody else'),
  name: Text,
  function: Text.describe('what the person does in the cell; gives no authority in this program'),
  qualifications: z
    .array(
      z.strictObject({
        operation: Text.describe('operation, under the name that is asked for'),
        from: Day,
        to: Day.optional(),
        evidence: Text.optional(),
      }),
    )
    .default([])
    .describe('operations the person is trained for, with dates: a claim until signed here'),
  reason: Reason,
});
export type Person = z.infer<typeof Person>;

export const person = defineKind<Person>({
  kind: 'person',
  title: 'person',
  numbering: 'running',
  purpose: 'A member of staff and what they are trained for. Roles and passwords are never given by a file.',
  schema: Person,
  key: (document) => document.person,
  name: (document) => document.name,
});
