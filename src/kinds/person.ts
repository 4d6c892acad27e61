import { z } from 'zod';
import { Code, Day, Format, Reason, Text } from './fields.js';
import { type DigestOf, defineKind, type SignablePart } from './kind.js';

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

export type Qualification = Person['qualifications'][number];

/** One operation that one person is trained for, with its dates. */
export function qualificationPart(person: string, qualification: Qualification, digestOf: DigestOf): SignablePart {
  const { operation, from, to = '', evidence = '' } = qualification;
  const digest = digestOf({ person, operation, from, to, evidence });
  return { kind: 'qualification', key: `${person}:${operation}`, digest };
}

export const person = defineKind<Person>({
  kind: 'person',
  numbering: 'running',
  purpose: 'A member of staff and what they are trained for. Roles and passwords are never given by a file.',
  schema: Person,
  key: (document) => document.person,
  name: (document) => document.name,
  signable: ({ person, qualifications }, digestOf) =>
    qualifications.map((qualification) => qualificationPart(person, qualification, digestOf)),
});
