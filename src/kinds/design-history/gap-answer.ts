import { z } from 'zod';
import { endsTooEarly } from '../contradictions.js';
import { Claim, Code, Day, Format, Reason, Sha256, Text } from '../fields.js';
import { defineKind, tie } from '../kind.js';
import { EntryRef, repeatedRefs, tiesTo } from '../references.js';
import { ASIDE } from './design-ties.js';

export const GapAnswer = z.strictObject({
  kind: z.literal('gap-answer'),
  format: Format,
  gap: Sha256.describe('identity of the gap, over its rule and what it is about'),
  rule: Code.describe('rule that found it'),
  subjects: z.array(EntryRef).min(1).describe('what it is about'),
  justification: Text.describe('why the design may stand as it is'),
  until: Day.optional().describe('day until which that holds; for good when absent'),
  given: Claim,
  reason: Reason,
});
export type GapAnswer = z.infer<typeof GapAnswer>;

export const gapAnswer = defineKind<GapAnswer>({
  kind: 'gap-answer',
  numbering: 'running',
  purpose: 'Why a gap in the design history may stay open, and until when.',
  schema: GapAnswer,
  key: (document) => document.gap,
  name: (document) => `${document.rule}: ${document.subjects.map(({ key }) => key).join(', ')}`,
  links: ({ subjects, given }) => [
    ...tiesTo('answers', subjects, 'subjects', ASIDE),
    tie('decision made by', 'person', given.by, 'given.by'),
  ],
  contradictions: ({ subjects, until, given }) => [
    ...repeatedRefs(subjects, 'subjects'),
    ...endsTooEarly('until', until, given.at),
  ],
});
