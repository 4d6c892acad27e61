import { z } from 'zod';
import { Approval, Code, Format, Sha256, Text, whole } from '../fields.js';
import { type Contradiction, defineKind, originalOf, repeated } from '../kind.js';
import { type EntryRef, LedgerHead, RevisionRef, repeatedRefs, tiesTo } from '../references.js';
import { ASIDE, headTies } from './design-ties.js';

/** What a change can touch. */
export const TOUCHED_SORTS = ['lot', 'entry', 'study', 'statement', 'risk', 'to be told'] as const;

const TouchedLine = z.strictObject({
  sort: z.enum(TOUCHED_SORTS),
  key: Text.describe('code of the lot or document with its kind, or who is to be told'),
  says: Text.describe('what of it is touched, such as where the units of a lot are'),
  answer: Text.optional().describe('what follows for it; the change is closed once each line has an answer'),
});
export type TouchedLine = z.infer<typeof TouchedLine>;

export const DesignChange = z.strictObject({
  kind: z.literal('design-change'),
  format: Format,
  change: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  what: Text,
  why: Text,
  changes: z.array(RevisionRef).min(1).describe('revisions that it does away with'),
  leadsTo: z.array(RevisionRef).min(1).optional().describe('revisions that come in their place'),
  touches: z
    .strictObject({
      asOf: LedgerHead,
      sha256: Sha256.describe('of the lines without their answers'),
      lines: z.array(TouchedLine),
    })
    .optional()
    .describe('what it touches, as `lotwright design --touches` lists and freezes it'),
  risksAgain: Text.describe('what it means for the risk file'),
  decision: z.enum(['open', 'go', 'stop']),
  approval: Approval.optional(),
});
export type DesignChange = z.infer<typeof DesignChange>;

function contradictions(document: DesignChange): Contradiction[] {
  const { changes, leadsTo = [], touches, approval, decision } = document;
  return [
    ...repeatedRefs(changes, 'changes'),
    ...repeatedRefs(leadsTo, 'leadsTo'),
    ...changesOfChanges(changes, 'changes'),
    ...changesOfChanges(leadsTo, 'leadsTo'),
    ...leadsTo.flatMap((next, index) => {
      const old = changes.find(({ kind, key }) => kind === next.kind && key === next.key);
      if (old === undefined || next.revision > old.revision) return [];
      return [
        {
          field: `leadsTo[${index}].revision`,
          found: String(next.revision),
          expected: `a revision after ${old.revision}, which it does away with`,
          remedy: 'name the new revision',
        },
      ];
    }),
    ...repeated(
      (touches?.lines ?? []).map(({ sort, key }) => `${sort} ${key}`),
      (index) => `touches.lines[${index}]`,
      'line',
    ),
    ...(approval !== undefined && decision === 'open'
      ? [{ field: 'decision', found: 'open, and approved', expected: 'go or stop', remedy: 'say what was decided' }]
      : []),
  ];
}

/** Two that did away with each other would both be and not be. */
const changesOfChanges = (refs: readonly EntryRef[], field: string): Contradiction[] =>
  refs.flatMap(({ kind, key }, index) =>
    kind === 'design-change'
      ? [
          {
            field: `${field}[${index}]`,
            found: `design change ${key}`,
            expected: 'documents that are no design change',
            remedy: 'take in a further revision of that change, or withdraw it',
          },
        ]
      : [],
  );

export const designChange = defineKind<DesignChange>({
  kind: 'design-change',
  numbering: 'document',
  purpose: 'What changes in the design and why, what it touches, and what it means for risks (ISO 13485 7.3.9).',
  schema: DesignChange,
  key: (document) => document.change,
  name: (document) => document.title,
  links: (document) => [
    ...headTies(document),
    ...tiesTo('changes', document.changes, 'changes', ASIDE),
    ...tiesTo('leads to', document.leadsTo ?? [], 'leadsTo', ASIDE),
  ],
  contradictions,
  files: (document) => originalOf(document.approval, 'approval'),
});
