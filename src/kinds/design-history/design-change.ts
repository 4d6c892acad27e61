import { z } from 'zod';
import { Approval, Code, Format, Sha256, Text, whole } from '../fields.js';
import { type Contradiction, defineKind, originalOf } from '../kind.js';
import { LedgerHead, RevisionRef, repeatedRefs, tiesTo } from '../references.js';
import { ASIDE, headTies } from './design-ties.js';

const Listed = z.strictObject({ count: whole(0), sha256: Sha256.describe('of the list of lots') });

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
  lots: z
    .strictObject({
      asOf: LedgerHead,
      made: Listed.describe('lots that were made by what is changed'),
      held: Listed.describe('those of them with units in the cell'),
      out: Listed.describe('those of them with units that left'),
    })
    .optional()
    .describe('lots that it touches, as they were when it was decided'),
  risksAgain: Text.describe('what it means for the risk file'),
  decision: z.enum(['open', 'go', 'stop']),
  approval: Approval.optional(),
});
export type DesignChange = z.infer<typeof DesignChange>;

/** A lot that is held or out was made. */
function lotFaults({ lots }: DesignChange): Contradiction[] {
  if (lots === undefined) return [];
  return (['held', 'out'] as const).flatMap((name) =>
    lots[name].count <= lots.made.count
      ? []
      : [
          {
            field: `lots.${name}.count`,
            found: String(lots[name].count),
            expected: `at most the ${lots.made.count} that were made`,
            remedy: 'correct one of the two numbers',
          },
        ],
  );
}

function contradictions(document: DesignChange): Contradiction[] {
  const { changes, leadsTo = [], approval, decision } = document;
  return [
    ...repeatedRefs(changes, 'changes'),
    ...repeatedRefs(leadsTo, 'leadsTo'),
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
    ...lotFaults(document),
    ...(approval !== undefined && decision === 'open'
      ? [{ field: 'decision', found: 'open, and approved', expected: 'go or stop', remedy: 'say what was decided' }]
      : []),
  ];
}

export const designChange = defineKind<DesignChange>({
  kind: 'design-change',
  numbering: 'document',
  purpose: 'What changes in the design and why, which lots it touches, and what it means for risks (ISO 13485 7.3.9).',
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
