import { z } from 'zod';
import { Approval, Code, Decimal, DesignStudyRef, Format, Moment, Side, Text, Ucum, whole } from '../fields.js';
import { approvedBy, type Contradiction, defineKind, originalOf, repeated, reversed, tie } from '../kind.js';

const EnvelopeParameter = z.strictObject({
  parameter: Text.describe('what may differ from case to case, such as the length of the plate'),
  ucum: Ucum,
  min: Decimal,
  max: Decimal,
  worstCases: z
    .array(z.strictObject({ value: Decimal, study: DesignStudyRef }))
    .optional()
    .describe('values that a study tested as the worst'),
});

export const DesignEnvelope = z.strictObject({
  kind: z.literal('design-envelope'),
  format: Format,
  envelope: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  parameters: z.array(EnvelopeParameter).min(1),
  sites: z.array(Text).min(1).describe('anatomical sites, named as in cases'),
  sides: z.array(Side).min(1),
  imageAgeDays: whole(1, 3650).describe('most days between the images and the build'),
  effectiveFrom: Moment,
  approval: Approval.optional(),
});
export type DesignEnvelope = z.infer<typeof DesignEnvelope>;

function contradictions({ parameters, sites, sides }: DesignEnvelope): Contradiction[] {
  return [
    ...repeated(
      parameters.map(({ parameter }) => parameter),
      (index) => `parameters[${index}].parameter`,
      'parameter',
    ),
    ...repeated(sites, (index) => `sites[${index}]`, 'site'),
    ...repeated(sides, (index) => `sides[${index}]`, 'side'),
    ...parameters.flatMap(({ min, max, worstCases = [] }, place) => [
      ...reversed(`parameters[${place}]`, { lower: min, upper: max }),
      ...repeated(
        worstCases.map(({ value, study }) => `${value} in ${study.designStudy}`),
        (index) => `parameters[${place}].worstCases[${index}]`,
        'worst case',
      ),
    ]),
  ];
}

export const designEnvelope = defineKind<DesignEnvelope>({
  kind: 'design-envelope',
  numbering: 'document',
  purpose: 'Within which bounds a design may differ from case to case, and which studies tested the worst of them.',
  schema: DesignEnvelope,
  key: (document) => document.envelope,
  name: (document) => document.title,
  links: (document) => [
    tie('of family', 'family', document.family, 'family', { aside: true }),
    ...document.parameters.flatMap(({ worstCases = [] }, place) =>
      worstCases.map(({ study }, index) =>
        tie('shown by', 'design-study', study.designStudy, `parameters[${place}].worstCases[${index}].study`, {
          revision: study.revision,
          aside: true,
        }),
      ),
    ),
    ...approvedBy(document.approval),
  ],
  contradictions,
  files: (document) => originalOf(document.approval, 'approval'),
});
