import { z } from 'zod';
import { Approval, Code, Day, FilePath, Format, Text, whole } from '../fields.js';
import { type Contradiction, defineKind, originalOf, repeated, tooEarly } from '../kind.js';
import { headTies } from './design-ties.js';

export const DesignPlan = z.strictObject({
  kind: z.literal('design-plan'),
  format: Format,
  plan: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  text: Text.describe('what is developed, who is responsible, and how inputs are traced to outputs'),
  stages: z
    .array(z.strictObject({ stage: Text, due: Day.optional() }))
    .min(1)
    .describe('stages in their order, each ending with a review'),
  file: FilePath.optional().describe('the plan itself, where it is kept as a file'),
  approval: Approval.optional(),
});
export type DesignPlan = z.infer<typeof DesignPlan>;

/** Stages follow each other. */
function contradictions({ stages }: DesignPlan): Contradiction[] {
  const dated = stages.flatMap(({ stage, due }, index) => (due === undefined ? [] : [{ stage, due, index }]));
  return [
    ...repeated(
      stages.map(({ stage }) => stage),
      (index) => `stages[${index}].stage`,
      'stage',
    ),
    ...dated.slice(1).flatMap(({ due, index }, place) => {
      const before = dated[place]!;
      return tooEarly(`stages[${index}].due`, due, before.due, `stage ${before.stage} is due`);
    }),
  ];
}

export const designPlan = defineKind<DesignPlan>({
  kind: 'design-plan',
  numbering: 'document',
  purpose: 'How a family is developed: stages, reviews, and who is responsible (ISO 13485 7.3.2).',
  schema: DesignPlan,
  key: (document) => document.plan,
  name: (document) => document.title,
  links: headTies,
  contradictions,
  files: ({ file, approval }) => [
    ...(file === undefined ? [] : [{ path: file, field: 'file', name: 'attachment' as const }]),
    ...originalOf(approval, 'approval'),
  ],
});
