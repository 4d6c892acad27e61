import { z } from 'zod';
import { Code, Format, Reason, Sha256 } from '../fields.js';
import { defineKind, repeated, tie } from '../kind.js';
import { LedgerHead, RevisionRef, tiesTo } from '../references.js';
import { ASIDE } from './design-ties.js';

const Member = RevisionRef.extend({ digest: Sha256.describe('SHA-256 of its canonical JSON') });

export const Baseline = z.strictObject({
  kind: z.literal('baseline'),
  format: Format,
  family: Code,
  name: Code.describe('name of the baseline within its family'),
  members: z.array(Member).min(1).describe('documents that are frozen together, each in one revision'),
  asOf: LedgerHead,
  reason: Reason,
});
export type Baseline = z.infer<typeof Baseline>;

export const baseline = defineKind<Baseline>({
  kind: 'baseline',
  numbering: 'running',
  purpose: 'Revisions of documents of a design that belong together, frozen by their digests.',
  schema: Baseline,
  key: (document) => `${document.family}:${document.name}`,
  name: (document) =>
    `${document.name} of ${document.family}, ${document.members.length} ${document.members.length === 1 ? 'document' : 'documents'}`,
  links: ({ family, members }) => [
    tie('of family', 'family', family, 'family', ASIDE),
    ...tiesTo('freezes', members, 'members', ASIDE),
  ],
  contradictions: ({ members }) =>
    repeated(
      members.map(({ kind, key }) => `${kind} ${key}`),
      (index) => `members[${index}]`,
      'document',
    ),
});
