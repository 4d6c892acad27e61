import { z } from 'zod';
import { Claim, Code, Day, FilePath, Format, PastDay, Reason, Text, thing } from './fields.js';
import { defineKind, repeated, tie, tooEarly } from './kind.js';

export const CorrectiveAction = z.strictObject({
  kind: z.literal('corrective-action'),
  format: Format,
  action: Code,
  opened: Claim,
  triggers: z
    .array(thing(['nonconformity', 'complaint', 'recall', 'signal-outcome']))
    .min(1)
    .describe('what made it necessary'),
  cause: Text,
  steps: z
    .array(
      z.strictObject({
        what: Text,
        by: Code,
        dueOn: Day,
        doneOn: PastDay.optional(),
      }),
    )
    .min(1)
    .describe('what is done against the cause, by whom and until when'),
  dueOn: Day.describe('day on which it is looked at whether it worked'),
  effectiveness: z
    .strictObject({
      on: PastDay,
      by: Code,
      result: z.enum(['effective', 'not effective']),
      says: Text.describe('by what it was seen'),
      evidence: FilePath.optional(),
    })
    .optional(),
  reason: Reason,
});
export type CorrectiveAction = z.infer<typeof CorrectiveAction>;

export const correctiveAction = defineKind<CorrectiveAction>({
  kind: 'corrective-action',
  numbering: 'running',
  purpose: 'What is done so that something does not happen again, and whether it worked.',
  schema: CorrectiveAction,
  key: (document) => document.action,
  name: (document) => `against ${document.triggers.map(({ key }) => key).join(', ')}`,
  links: (document) => [
    ...document.triggers.map(({ kind, key }, index) => tie('triggered by', kind, key, `triggers[${index}].key`)),
    tie('opened by', 'person', document.opened.by, 'opened.by'),
    ...document.steps.map(({ by }, index) => tie('worked on by', 'person', by, `steps[${index}].by`)),
    ...(document.effectiveness ? [tie('verified by', 'person', document.effectiveness.by, 'effectiveness.by')] : []),
  ],
  contradictions: (document) => [
    ...repeated(
      document.triggers.map(({ kind, key }) => `${kind} ${key}`),
      (index) => `triggers[${index}].key`,
      'trigger',
    ),
    ...tooEarly('dueOn', document.dueOn, document.opened.at, 'it was opened'),
    ...document.steps.flatMap(({ dueOn, doneOn }, index) => [
      ...tooEarly(`steps[${index}].dueOn`, dueOn, document.opened.at, 'it was opened'),
      ...tooEarly(`steps[${index}].doneOn`, doneOn, document.opened.at, 'it was opened'),
    ]),
    ...document.steps.flatMap(({ doneOn, what }, index) =>
      document.effectiveness && doneOn === undefined
        ? [
            {
              field: `steps[${index}].doneOn`,
              found: 'nothing, although it was looked at whether the action worked',
              expected: 'the day on which the step was done',
              remedy: `say when it was done, or remove effectiveness: ${what}`,
            },
          ]
        : tooEarly('effectiveness.on', document.effectiveness?.on, doneOn, 'its last step was done'),
    ),
  ],
  files: ({ effectiveness }) =>
    effectiveness?.evidence === undefined
      ? []
      : [{ path: effectiveness.evidence, field: 'effectiveness.evidence', name: 'attachment' as const }],
});
