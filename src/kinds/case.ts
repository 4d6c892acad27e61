import { z } from 'zod';
import { Code, Day, Format, Moment, Reason, Text, whole } from './fields.js';
import { defineKind, tie } from './kind.js';

export const Case = z.strictObject({
  kind: z.literal('case'),
  format: Format,
  case: Code.describe('code of the case; who the patient is stays with the prescribing institution'),
  family: Code,
  neededBy: Day.describe('day on which the implant must be with the institution'),
  designIteration: whole(1).describe('design iteration that is to be built'),
  anatomicalSite: Text,
  side: z.enum(['left', 'right', 'midline', 'not sided']),
  prescriber: z.strictObject({ name: Text, institution: Text }),
  prescription: z.strictObject({ reference: Code, at: Moment }),
  prescribedCharacteristics: Text.optional().describe('characteristics that the prescription asks for'),
  imagingDate: Day.optional().describe('day of the images from which the design was made'),
  consignee: Text.optional().describe('where the units go, with address'),
  reason: Reason,
});
export type Case = z.infer<typeof Case>;

export const caseKind = defineKind<Case>({
  kind: 'case',
  title: 'case',
  numbering: 'running',
  purpose: 'What one patient needs, under a code: site, side, design iteration, prescriber, and when it is needed.',
  schema: Case,
  key: (document) => document.case,
  caseOf: (document) => document.case,
  name: (document) => `${document.case}, ${document.anatomicalSite}, ${document.side}`,
  links: (document) => [tie('of family', 'family', document.family, 'family')],
});
