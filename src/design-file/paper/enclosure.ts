import { z } from 'zod';
import { Enclosure } from '../../records/enclosure.js';
import { DESIGN_ORDERS } from '../../report/design-template.js';

const {
  demo,
  program,
  node,
  printedAt,
  printedOffset,
  printedBy,
  signatures,
  keys,
  people,
  ledger,
  seal,
  attachments,
} = Enclosure.shape;
const Digest = Enclosure.shape.dossierSha256;

/** What the file of a design shows beside the design. */
export const DesignEnclosure = z.strictObject({
  format: z.literal(1),
  paper: z.literal('design history'),
  number: z.string(),
  family: z.string(),
  revision: z.int().positive().describe('entries of the audit trail of which it tells'),
  draft: z.boolean().describe('while a gap is open, or no approved baseline froze the design as it shows it'),
  order: z.enum(DESIGN_ORDERS),
  designSha256: Digest,
  demo,
  ...{ program, node, printedAt, printedOffset, printedBy },
  signatures: signatures.describe('all on the revisions that it carries, in the order of signing'),
  ...{ keys, people },
  ledger,
  seal,
  attachments,
});
export type DesignEnclosure = z.infer<typeof DesignEnclosure>;

/** What the issuer decides; the rest follows from what is attached. */
export type DesignIssue = Omit<
  DesignEnclosure,
  'format' | 'paper' | 'number' | 'family' | 'revision' | 'draft' | 'designSha256' | 'attachments'
>;

export function issueOfDesign(enclosure: DesignEnclosure): DesignIssue {
  const { format, paper, number, family, revision, draft, designSha256, attachments, ...issue } = enclosure;
  return issue;
}

/** Names of what the file carries. */
export const DESIGN_CARRIES = {
  design: 'design-history.json',
  template: 'record-template.yaml',
  note: 'how-to-recompute.txt',
} as const;

/** A code holds no tilde, so that no two files share a number. */
export const designNumber = (family: string): string => `DH-${family}`;
