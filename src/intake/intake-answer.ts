import { z } from 'zod';

/** Shapes of what the API takes and answers when documents are taken in. */

/** The fields that stand before the files. */
export const IntakeFields = z.strictObject({
  check: z.literal('yes').optional().describe('read and check everything, store nothing'),
});
export type IntakeFields = z.infer<typeof IntakeFields>;

export const IntakeAnswer = z.strictObject({
  stored: z.boolean().describe('false when only checked'),
  documents: z.array(z.strictObject({ kind: z.string(), key: z.string(), revision: z.int().nullable() })),
  unchangedDocuments: z.int(),
  results: z.strictObject({ recorded: z.int(), corrections: z.int() }),
  logs: z.array(
    z.strictObject({
      build: z.string(),
      file: z.string(),
      rows: z.int(),
      rejected: z.record(z.string(), z.int()).describe('lines that were not used, by reason'),
      firstRejected: z.looseObject({ line: z.int(), found: z.string() }).nullable(),
      findings: z.int(),
    }),
  ),
  lots: z.array(z.string()),
  wouldStore: z
    .strictObject({
      documents: z.array(z.strictObject({ kind: z.string(), key: z.string(), revision: z.int() })),
      results: z.strictObject({ recorded: z.int(), corrections: z.int() }),
      logs: z.array(z.string()).describe('builds whose logs are not stored yet'),
    })
    .optional()
    .describe('when only checked: what would be stored'),
  unusedFiles: z.array(z.string()).describe('files that no document names, and hidden ones: they are not kept'),
});
