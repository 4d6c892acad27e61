import { z } from 'zod';
import { Approval, Code, Format, PartLeft, PastMoment, Text, whole } from '../fields.js';
import { approvedBy, type Contradiction, defineKind, originalOf, repeated, tie } from '../kind.js';
import { Outside } from '../references.js';

const SupportedZone = z.strictObject({
  zone: Code.describe('zone of the case design'),
  holdWeeks: whole(1, 520).describe('weeks for which it has to hold'),
  strengthLeft: PartLeft.describe('least strength at the end of these weeks, as a fraction of the start'),
  stiffnessLeft: PartLeft.describe('least stiffness at the end of these weeks, as a fraction of the start'),
  goneByWeeks: whole(1, 2600).optional().describe('weeks after which nothing of it may be left'),
});

export const SupportWindow = z.strictObject({
  kind: z.literal('support-window'),
  format: Format,
  case: Code,
  revision: whole(1),
  title: Text,
  zones: z.array(SupportedZone).min(1),
  source: Text.describe('clinical source of these numbers'),
  givenBy: Outside.extend({ at: PastMoment }).describe('clinician who gave them'),
  approval: Approval.optional(),
});
export type SupportWindow = z.infer<typeof SupportWindow>;

function contradictions({ zones }: SupportWindow): Contradiction[] {
  return [
    ...repeated(
      zones.map(({ zone }) => zone),
      (index) => `zones[${index}].zone`,
      'zone',
    ),
    ...zones.flatMap(({ holdWeeks, goneByWeeks }, index) =>
      goneByWeeks === undefined || goneByWeeks > holdWeeks
        ? []
        : [
            {
              field: `zones[${index}].goneByWeeks`,
              found: String(goneByWeeks),
              expected: `more than the ${holdWeeks} weeks for which it has to hold`,
              remedy: 'correct one of the two numbers',
            },
          ],
    ),
  ];
}

export const supportWindow = defineKind<SupportWindow>({
  kind: 'support-window',
  numbering: 'document',
  purpose: 'For how long each zone of one case has to hold, and how much: a clinical input with its source.',
  schema: SupportWindow,
  key: (document) => document.case,
  caseOf: (document) => document.case,
  name: (document) => document.title,
  links: (document) => [tie('of case', 'case', document.case, 'case'), ...approvedBy(document.approval)],
  contradictions,
  files: (document) => originalOf(document.approval, 'approval'),
});
