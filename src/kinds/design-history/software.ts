import { z } from 'zod';
import { Approval, Code, FilePath, Format, PastDay, Text, whole } from '../fields.js';
import { approvedBy, defineKind, originalOf, tie } from '../kind.js';

export const Software = z.strictObject({
  kind: z.literal('software'),
  format: Format,
  software: Code,
  revision: whole(1),
  title: Text,
  version: Text.describe('as the program itself says it'),
  use: Text.describe('what it is used for here, from images to paths of the machine'),
  validatedBy: z
    .strictObject({
      report: Text.describe('number of the report'),
      on: PastDay,
      by: Code,
      file: FilePath.optional(),
    })
    .describe('proof that this version does what it is used for'),
  approval: Approval.optional(),
});
export type Software = z.infer<typeof Software>;

export const software = defineKind<Software>({
  kind: 'software',
  numbering: 'document',
  purpose: 'A program by which designs, paths or machine files are made, in the version that was validated.',
  schema: Software,
  key: (document) => document.software,
  name: (document) => `${document.title} ${document.version}`,
  links: ({ validatedBy, approval }) => [
    tie('validated by', 'person', validatedBy.by, 'validatedBy.by'),
    ...approvedBy(approval),
  ],
  files: ({ validatedBy, approval }) => [
    ...(validatedBy.file === undefined
      ? []
      : [{ path: validatedBy.file, field: 'validatedBy.file', name: 'report' as const }]),
    ...originalOf(approval, 'approval'),
  ],
});
