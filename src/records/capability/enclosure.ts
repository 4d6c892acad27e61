import { z } from 'zod';
import { Enclosure } from '../enclosure.js';

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

/** What came to be known of a statement after it was made. */
export const SinceStated = z.strictObject({
  impacts: z
    .array(z.strictObject({ impact: z.string(), cause: z.string(), conclusion: z.string(), lots: z.array(z.string()) }))
    .describe('findings of something off that touch results which it counts'),
  lots: z
    .array(z.strictObject({ lot: z.string(), builtAt: z.string() }))
    .describe('lots of its window that it did not know'),
  later: z.int().nullable().describe('number of the statement that took its place'),
});
export type SinceStated = z.infer<typeof SinceStated>;

/** What the paper of a capability statement shows beside the statement. */
export const CapabilityEnclosure = z.strictObject({
  format: z.literal(1),
  paper: z.literal('capability statement'),
  number: z.string(),
  family: z.string(),
  characteristic: z.string(),
  revision: z.int().positive().describe('number of the statement among those of this family and characteristic'),
  draft: z.boolean().describe('until quality reviewed it by signature'),
  statementSha256: Digest,
  previousSha256: Digest.nullable().describe('of the statement that it is compared with; null for the first one'),
  demo,
  ...{ program, node, printedAt, printedOffset, printedBy },
  signatures: signatures.describe('all on this statement, in the order of signing'),
  ...{ keys, people },
  ledger,
  seal,
  since: SinceStated.describe('as it was known when the paper was printed'),
  caution: z.string(),
  attachments,
});
export type CapabilityEnclosure = z.infer<typeof CapabilityEnclosure>;

/** What the issuer decides; the rest follows from what is attached. */
export type CapabilityIssue = Omit<
  CapabilityEnclosure,
  | ('format' | 'paper' | 'number' | 'family' | 'characteristic' | 'revision')
  | ('statementSha256' | 'previousSha256' | 'attachments')
>;

export function issueOfCapability(enclosure: CapabilityEnclosure): CapabilityIssue {
  const {
    format,
    paper,
    number,
    family,
    characteristic,
    revision,
    statementSha256,
    previousSha256,
    attachments,
    ...issue
  } = enclosure;
  return issue;
}

/** Names of what the paper carries. */
export const CARRIED = {
  statement: 'capability-statement.json',
  previous: 'statement-before.json',
  note: 'how-to-recompute.txt',
} as const;

/** The number that all statements of a characteristic share. A code holds no tilde. */
export const capabilityNumber = (family: string, characteristic: string): string => `CS-${family}~${characteristic}`;
