import { z } from 'zod';
import { Approval, Code, Day, FilePath, Format, PastDay, Text, whole } from '../fields.js';
import { type Contradiction, defineKind, originalOf, repeated, tie, tooEarly } from '../kind.js';
import { RevisionRef, repeatedRefs, tiesTo, tiesToCodes } from '../references.js';
import { ASIDE, headTies } from './design-ties.js';

export const DesignReview = z.strictObject({
  kind: z.literal('design-review'),
  format: Format,
  review: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  stage: Text.describe('stage of the design plan'),
  on: PastDay,
  participants: z.array(Code).min(1),
  independent: Code.optional().describe('participant who has no responsibility for what was reviewed'),
  reviews: z.array(RevisionRef).min(1).describe('documents that were reviewed'),
  findings: Text.describe('what was found, or "none"'),
  actions: z
    .array(z.strictObject({ what: Text, who: Code, due: Day, doneOn: PastDay.optional() }))
    .min(1)
    .optional(),
  file: FilePath.optional().describe('minutes'),
  approval: Approval.optional(),
});
export type DesignReview = z.infer<typeof DesignReview>;

function contradictions({ participants, independent, reviews, actions = [], on }: DesignReview): Contradiction[] {
  return [
    ...repeated(participants, (index) => `participants[${index}]`, 'participant'),
    ...repeatedRefs(reviews, 'reviews'),
    ...(independent !== undefined && !participants.includes(independent)
      ? [
          {
            field: 'independent',
            found: independent,
            expected: 'somebody who took part',
            remedy: 'add the person to the participants, or correct the code',
          },
        ]
      : []),
    ...actions.flatMap(({ due, doneOn }, index) => [
      ...tooEarly(`actions[${index}].due`, due, on, 'the review was held'),
      ...tooEarly(`actions[${index}].doneOn`, doneOn, on, 'the review was held'),
    ]),
  ];
}

export const designReview = defineKind<DesignReview>({
  kind: 'design-review',
  numbering: 'document',
  purpose: 'Who reviewed which documents of the design at which stage, and what follows from it (ISO 13485 7.3.5).',
  schema: DesignReview,
  key: (document) => document.review,
  name: (document) => document.title,
  links: (document) => [
    ...headTies(document),
    ...tiesTo('reviews', document.reviews, 'reviews', ASIDE),
    ...tiesToCodes('reviewed by', 'person', document.participants, 'participants', ASIDE),
    ...(document.actions ?? []).map(({ who }, index) =>
      tie('acts on review', 'person', who, `actions[${index}].who`, ASIDE),
    ),
  ],
  contradictions,
  files: ({ file, approval }) => [
    ...(file === undefined ? [] : [{ path: file, field: 'file', name: 'report' as const }]),
    ...originalOf(approval, 'approval'),
  ],
});
