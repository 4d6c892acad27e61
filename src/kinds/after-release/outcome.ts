import { z } from 'zod';
import { Code, FilePath, Format, PastDay, Reason, Text, whole } from '../fields.js';
import { defineKind, tie } from '../kind.js';
import { PERSONAL_DATA } from '../lot.js';

export const Outcome = z.strictObject({
  kind: z.literal('outcome'),
  format: Format,
  implant: Code.describe('serial'),
  n: whole(1).describe('counts what became of this unit, one after the other'),
  what: z.enum(['implanted', 'not used', 'destroyed there', 'explanted', 'lost']),
  on: PastDay,
  handover: Code.describe('handover with which it had left'),
  found: Text.optional().describe('what was found on a unit that was explanted; no word of the patient'),
  reportedBy: Text.describe('who told it, and of which institution'),
  reportFile: FilePath.optional().describe(
    'the report as received: personal data, kept apart; its path is printed, so name nobody in it',
  ),
  reason: Reason,
});
export type Outcome = z.infer<typeof Outcome>;

export const outcome = defineKind<Outcome>({
  kind: 'outcome',
  numbering: 'running',
  purpose: 'What became of one unit at the institution. Who the patient is stays there.',
  schema: Outcome,
  key: (document) => `${document.implant}:${document.n}`,
  name: (document) => `${document.implant} ${document.what} on ${document.on}`,
  contradictions: ({ what, found }) =>
    found === undefined || what === 'explanted'
      ? []
      : [
          {
            ...{ field: 'found', found: `what was found, although it was ${what}` },
            expected: 'what was found on a unit that was explanted',
            remedy: 'remove it, or correct what',
          },
        ],
  links: (document) => [
    tie('outcome of', 'implant', document.implant, 'implant'),
    tie('after handover', 'handover', document.handover, 'handover'),
  ],
  files: ({ reportFile }) =>
    reportFile === undefined ? [] : [{ path: reportFile, field: 'reportFile', name: PERSONAL_DATA }],
});
