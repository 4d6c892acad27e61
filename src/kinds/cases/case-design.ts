import { z } from 'zod';
import { exactlyOne, needed } from '../contradictions.js';
import {
  Approval,
  Code,
  Decimal,
  EnvelopeRef,
  FilePath,
  Format,
  NotNegative,
  PositiveDecimal,
  RecipeRef,
  Side,
  SoftwareRef,
  Text,
  Ucum,
  whole,
} from '../fields.js';
import {
  approvedBy,
  type Contradiction,
  defineKind,
  type NamedFile,
  originalOf,
  ownChecker,
  repeated,
  tie,
} from '../kind.js';
import { LoadSection, sectionContradictions } from './load-section.js';

const AXES = ['x', 'y', 'z'] as const;
const Corner = z.strictObject({ x: Decimal, y: Decimal, z: Decimal });

const DesignZone = z.strictObject({
  zone: Code.describe('named region of the implant, as lots name it'),
  mesh: FilePath.optional().describe('surface of the region alone'),
  box: z
    .strictObject({ from: Corner, to: Corner })
    .optional()
    .describe('box around the region, in the unit of the model'),
  section: LoadSection.optional().describe('section that carries the load'),
  profileMm: PositiveDecimal.optional().describe(
    'how far the built surface may lie from the model, on either side: half of a profile tolerance of ISO 1101',
  ),
  profileInsideMm: NotNegative.optional().describe('how far it may lie inside, where that is not as far as outside'),
  datum: z
    .union([z.literal(true), z.literal('true')])
    .transform(() => true as const)
    .optional()
    .describe('true where the part is held: a scan that is laid on the model is laid on such zones alone'),
});

export const CaseDesign = z.strictObject({
  kind: z.literal('case-design'),
  format: Format,
  case: Code,
  revision: whole(1).describe('design iteration'),
  title: Text,
  envelope: EnvelopeRef.optional().describe('design envelope that it lies in'),
  outside: z
    .strictObject({ why: Text })
    .optional()
    .describe('why it lies in no envelope, or leaves the one that is named'),
  parameters: z.array(z.strictObject({ parameter: Text, value: Decimal, ucum: Ucum })).min(1),
  anatomicalSite: Text.describe('named as in the case'),
  side: Side,
  marking: Text.describe('what is marked on the implant'),
  model: z.strictObject({ file: FilePath, ucum: Ucum.describe('unit of its coordinates') }),
  zones: z.array(DesignZone).min(1),
  recipe: RecipeRef.describe('recipe by which it is to be built'),
  software: z.array(SoftwareRef).min(1).describe('programs with which it was made'),
  imagingSets: z.array(Code).min(1).describe('images from which it was made'),
  designer: Code,
  approval: Approval.optional(),
});
export type CaseDesign = z.infer<typeof CaseDesign>;

function zoneContradictions({ zones }: CaseDesign): Contradiction[] {
  return zones.flatMap(({ mesh, box, section, profileMm, profileInsideMm }, index) => [
    ...(profileInsideMm === undefined
      ? []
      : needed(`zones[${index}].profileMm`, profileMm, 'profileInsideMm is given', 'how far it may lie outside')),
    ...exactlyOne({ mesh, box }, `zones[${index}]`),
    ...sectionContradictions(section, `zones[${index}].section`),
    ...AXES.flatMap((axis) => {
      if (!box || Number(box.from[axis]) < Number(box.to[axis])) return [];
      const found = `${box.from[axis]} to ${box.to[axis]}`;
      return [
        { field: `zones[${index}].box.to.${axis}`, found, expected: 'from below to', remedy: 'swap the two ends' },
      ];
    }),
  ]);
}

function contradictions(document: CaseDesign): Contradiction[] {
  const { parameters, zones, software, imagingSets, envelope, outside, approval, designer } = document;
  return [
    ...repeated(
      parameters.map(({ parameter }) => parameter),
      (index) => `parameters[${index}].parameter`,
      'parameter',
    ),
    ...repeated(
      zones.map(({ zone }) => zone),
      (index) => `zones[${index}].zone`,
      'zone',
    ),
    ...repeated(
      software.map((item) => item.software),
      (index) => `software[${index}].software`,
      'program',
    ),
    ...repeated(imagingSets, (index) => `imagingSets[${index}]`, 'imaging set'),
    ...zoneContradictions(document),
    ...(envelope ? [] : needed('outside', outside, 'no envelope is named', 'why it lies in no envelope')),
    ...ownChecker('approval.by', approval?.by, designer),
  ];
}

export const caseDesign = defineKind<CaseDesign>({
  kind: 'case-design',
  numbering: 'document',
  purpose: 'The design for one case. Its revision is the design iteration.',
  schema: CaseDesign,
  key: (document) => document.case,
  caseOf: (document) => document.case,
  name: (document) => document.title,
  links: (document) => [
    tie('of case', 'case', document.case, 'case'),
    ...document.imagingSets.map((code, index) => tie('designed from', 'imaging-set', code, `imagingSets[${index}]`)),
    ...(document.envelope
      ? [
          tie('inside envelope', 'design-envelope', document.envelope.envelope, 'envelope', {
            revision: document.envelope.revision,
          }),
        ]
      : []),
    ...document.software.map(({ software, revision }, index) =>
      tie('designed with', 'software', software, `software[${index}]`, { revision }),
    ),
    tie('planned with recipe', 'recipe', document.recipe.recipe, 'recipe', { revision: document.recipe.revision }),
    tie('designed by', 'person', document.designer, 'designer'),
    ...approvedBy(document.approval),
  ],
  contradictions,
  files: ({ model, zones, approval }) => [
    { path: model.file, field: 'model.file', name: 'model' },
    ...zones.flatMap(({ mesh }, index): NamedFile[] =>
      mesh === undefined ? [] : [{ path: mesh, field: `zones[${index}].mesh`, name: 'attachment' }],
    ),
    ...originalOf(approval, 'approval'),
  ],
});
