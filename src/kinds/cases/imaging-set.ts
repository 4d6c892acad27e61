import { z } from 'zod';
import { exactlyOne, needed } from '../contradictions.js';
import { Claim, Code, FilePath, Format, PastDay, PositiveDecimal, Reason, Sha256, Text } from '../fields.js';
import { type Contradiction, defineKind, tie, tooEarly } from '../kind.js';
import { PERSONAL_DATA } from '../lot.js';

export const ImagingSet = z.strictObject({
  kind: z.literal('imaging-set'),
  format: Format,
  imagingSet: Code.describe('code of the images, given by the cell'),
  case: Code,
  takenOn: PastDay,
  modality: z.enum(['CT', 'cone beam CT', 'MR', 'radiograph', 'surface scan', 'other']),
  sliceMm: PositiveDecimal.optional().describe('distance of slices, mm; needed where there are slices'),
  sha256: Sha256.optional().describe('of the images, where they stay with the institution'),
  file: FilePath.optional().describe(
    'the images, where they are kept here: personal data, kept apart; the path is printed, so name nobody in it',
  ),
  received: Claim.describe('who took them in, and when'),
  trouble: Text.optional().describe('what was wrong with them, and what was done about it'),
  reason: Reason,
});
export type ImagingSet = z.infer<typeof ImagingSet>;

const SLICED: readonly ImagingSet['modality'][] = ['CT', 'cone beam CT', 'MR'];

function contradictions({ takenOn, modality, sliceMm, sha256, file, received }: ImagingSet): Contradiction[] {
  return [
    ...exactlyOne({ sha256, file }, file === undefined ? 'sha256' : 'file'),
    ...tooEarly('received.at', received.at, takenOn, 'they were taken'),
    ...(SLICED.includes(modality)
      ? needed('sliceMm', sliceMm, `${modality} images are slices`, 'the distance of the slices in mm')
      : []),
  ];
}

export const imagingSet = defineKind<ImagingSet>({
  kind: 'imaging-set',
  numbering: 'running',
  purpose: 'Images from which a design was made: when and how they were taken, and their hash. Patients stay unnamed.',
  schema: ImagingSet,
  key: (document) => document.imagingSet,
  caseOf: (document) => document.case,
  name: (document) => `${document.modality} of ${document.takenOn} for case ${document.case}`,
  links: (document) => [
    tie('of case', 'case', document.case, 'case'),
    tie('received by', 'person', document.received.by, 'received.by'),
  ],
  contradictions,
  files: ({ file }) => (file === undefined ? [] : [{ path: file, field: 'file', name: PERSONAL_DATA }]),
});
