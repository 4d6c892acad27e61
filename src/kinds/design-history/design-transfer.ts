import { z } from 'zod';
import { Approval, Code, FilePath, Format, PastDay, Text, ValidationRef, whole } from '../fields.js';
import { defineKind, originalOf, repeated, tie } from '../kind.js';
import { RevisionRef, repeatedRefs, tiesTo } from '../references.js';
import { ASIDE, headTies } from './design-ties.js';

export const DesignTransfer = z.strictObject({
  kind: z.literal('design-transfer'),
  format: Format,
  transfer: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  to: Text.describe('place of manufacture that takes it over'),
  on: PastDay,
  transfers: z.array(RevisionRef).min(1).describe('documents by which it is made from now on'),
  shownBy: z.array(ValidationRef).min(1).optional().describe('process validations that show that it can be made'),
  text: Text.describe('how it was shown that what is made is what was designed'),
  file: FilePath.optional(),
  approval: Approval.optional(),
});
export type DesignTransfer = z.infer<typeof DesignTransfer>;

export const designTransfer = defineKind<DesignTransfer>({
  kind: 'design-transfer',
  numbering: 'document',
  purpose: 'That the outputs of the design were shown to be fit for manufacture, and from when on (ISO 13485 7.3.8).',
  schema: DesignTransfer,
  key: (document) => document.transfer,
  name: (document) => document.title,
  links: (document) => [
    ...headTies(document),
    ...tiesTo('transfers', document.transfers, 'transfers', ASIDE),
    ...(document.shownBy ?? []).map(({ validation, revision }, index) =>
      tie('shown by', 'process-validation', validation, `shownBy[${index}]`, { revision, ...ASIDE }),
    ),
  ],
  contradictions: ({ transfers, shownBy = [] }) => [
    ...repeatedRefs(transfers, 'transfers'),
    ...repeated(
      shownBy.map(({ validation }) => validation),
      (index) => `shownBy[${index}].validation`,
      'validation',
    ),
  ],
  files: ({ file, approval }) => [
    ...(file === undefined ? [] : [{ path: file, field: 'file', name: 'attachment' as const }]),
    ...originalOf(approval, 'approval'),
  ],
});
