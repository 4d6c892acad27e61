import { z } from 'zod';

const Digest = z.string().regex(/^[0-9a-f]{64}$/);

export const AttachmentRef = z.strictObject({
  name: z.string(),
  sha256: Digest,
  bytes: z.int().nonnegative(),
  mediaType: z.string(),
  describes: z.string(),
});
export type AttachmentRef = z.infer<typeof AttachmentRef>;

/** What a record shows beside the dossier. Its digest stands on page 1 and covers every attachment by its SHA-256. */
export const Enclosure = z.strictObject({
  format: z.literal(1),
  record: z.strictObject({
    number: z.string(),
    revision: z.int().positive(),
    draft: z.literal(true).describe('until people can sign in this program, every record is a draft'),
  }),
  demo: z.boolean(),
  lot: z.string(),
  dossierSha256: Digest,
  assessmentSha256: Digest,
  program: z.string(),
  node: z.string().describe('version of Node.js that computed and rendered it'),
  printedAt: z.string().describe('UTC'),
  printedOffset: z.string(),
  printedBy: z.string(),
  /** The ledger as it stood before this record was issued. Not signed by this version. */
  ledger: z.strictObject({ size: z.int().nonnegative(), root: Digest }),
  /** Everything attached but the enclosure itself. */
  attachments: z.array(AttachmentRef),
});
export type Enclosure = z.infer<typeof Enclosure>;

/** Names of what every record carries. */
export const ATTACHED = {
  dossier: 'dossier.json',
  assessment: 'assessment.json',
  enclosure: 'enclosure.json',
  note: 'how-to-recompute.txt',
} as const;
