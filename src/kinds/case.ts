import { z } from 'zod';
import { Claim, Code, Day, FilePath, Format, Law, PastDay, PastMoment, Reason, Side, Text, whole } from './fields.js';
import { type Contradiction, defineKind, tie, tooEarly } from './kind.js';
import { Attachment, PERSONAL_DATA } from './lot.js';

export const Case = z.strictObject({
  kind: z.literal('case'),
  format: Format,
  case: Code.describe('code of the case; who the patient is stays with the prescribing institution'),
  family: Code,
  neededBy: Day.describe('day on which the implant must be with the institution'),
  designIteration: whole(1).describe('design iteration that is to be built'),
  anatomicalSite: Text,
  side: Side,
  prescriber: z.strictObject({ name: Text, institution: Text }),
  prescription: z.strictObject({ reference: Code, at: PastMoment }),
  prescribedCharacteristics: Text.optional().describe('characteristics that the prescription asks for'),
  prescriptionFile: FilePath.optional().describe(
    'the prescription as received: personal data, kept apart; its path is printed, so name nobody in it',
  ),
  otherMetals: Text.optional().describe('other metals that lie near it, or "none": they change how fast it degrades'),
  imagingDate: PastDay.optional().describe('day of the images from which the design was made'),
  surgeryOn: Day.optional().describe('planned day of the operation'),
  usedUnder: Law.optional().describe('law under which the unit is used: EU, or the ISO 3166-1 code of a state'),
  status: Claim.extend({ is: z.enum(['open', 'cancelled', 'closed']) })
    .optional()
    .describe('how the case stands, who said so, and since when; open when absent'),
  attachments: z
    .array(Attachment)
    .min(1)
    .optional()
    .describe('further files of this case alone: whoever the case is none of hears nothing of them'),
  consignee: Text.optional().describe('where the units go, with address'),
  reason: Reason,
});
export type Case = z.infer<typeof Case>;

function contradictions({ neededBy, surgeryOn, imagingDate, prescription, status }: Case): Contradiction[] {
  return [
    ...tooEarly('surgeryOn', surgeryOn, neededBy, 'the implant must be there'),
    ...tooEarly('surgeryOn', surgeryOn, imagingDate, 'the images were taken'),
    ...tooEarly('surgeryOn', surgeryOn, prescription.at, 'it was prescribed'),
    ...tooEarly('status.at', status?.at, prescription.at, 'it was prescribed'),
  ];
}

export const caseKind = defineKind<Case>({
  kind: 'case',
  numbering: 'running',
  purpose: 'What one patient needs, under a code: site, side, design iteration, prescriber, and when it is needed.',
  schema: Case,
  key: (document) => document.case,
  caseOf: (document) => document.case,
  name: (document) => `${document.case}, ${document.anatomicalSite}, ${document.side}`,
  links: (document) => [
    tie('of family', 'family', document.family, 'family'),
    ...(document.status ? [tie('status set by', 'person', document.status.by, 'status.by')] : []),
  ],
  contradictions,
  files: ({ prescriptionFile, attachments = [] }) => [
    ...(prescriptionFile === undefined
      ? []
      : [{ path: prescriptionFile, field: 'prescriptionFile', name: PERSONAL_DATA }]),
    ...attachments.map(({ file, personalData }, index) => ({
      path: file,
      field: `attachments[${index}].file`,
      name: personalData ? PERSONAL_DATA : ('attachment' as const),
    })),
  ],
});
