import { z } from 'zod';
import { Sha256 } from '../web/fields.js';

/** What the API answers once a record is issued. */
export const RecordAnswer = z.strictObject({
  number: z.string(),
  revision: z.int(),
  draft: z.boolean().describe('until one implant is decided'),
  final: z.boolean().describe('every implant is rejected, gone, or released for distribution'),
  lot: z.string(),
  fileSha256: Sha256,
  dossierSha256: Sha256,
  enclosureSha256: Sha256,
  href: z.string().describe('where the PDF is'),
});
export type RecordAnswer = z.infer<typeof RecordAnswer>;
