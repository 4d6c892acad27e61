import { z } from 'zod';
import { endsTooEarly } from './contradictions.js';
import { Code, FilePath, Format, LoadStep, Moment, PastMoment, Reason, RecipeStep, Text, YesNo } from './fields.js';
import { type Contradiction, defineKind, repeated, tie } from './kind.js';

/** What has to be done to a machine at intervals. */
export const UPKEEP = ['maintenance', 'leak test', 'power check'] as const;

export const Upkeep = z.strictObject({
  what: z.enum(UPKEEP),
  at: PastMoment,
  due: Moment.describe('when it is to be done again'),
  result: z.enum(['passed', 'failed']),
  by: Code,
  report: Text.optional(),
  file: FilePath.optional(),
});
export type Upkeep = z.infer<typeof Upkeep>;

export const Machine = z.strictObject({
  kind: z.literal('machine'),
  format: Format,
  machine: Code,
  title: Text,
  location: Text,
  does: z
    .array(z.enum([...RecipeStep.options, ...LoadStep.options]))
    .min(1)
    .describe('steps of recipes, or steps after the build that run in loads'),
  operation: Text.optional().describe('operation that its operators must be qualified for; its code when absent'),
  alloys: z
    .array(Text)
    .min(1)
    .optional()
    .describe(
      'alloys that run on it, as families name them, first the one that it began with: from one to the next it is changed over',
    ),
  clearance: YesNo.optional().describe(
    'yes: somebody sees before each chamber closes that nothing of another case is left',
  ),
  upkeep: z
    .array(Upkeep)
    .optional()
    .describe('maintenance, leak tests and power checks, each with the next due moment'),
  reason: Reason,
});
export type Machine = z.infer<typeof Machine>;

const contradictions = ({ upkeep = [], alloys = [] }: Machine): Contradiction[] => [
  ...upkeep.flatMap(({ at, due }, index) => endsTooEarly(`upkeep[${index}].due`, due, at)),
  ...repeated(alloys, (index) => `alloys[${index}]`, 'alloy'),
];

export const machine = defineKind<Machine>({
  kind: 'machine',
  numbering: 'running',
  purpose: 'A machine of the cell, where it stands, and its upkeep.',
  schema: Machine,
  key: (document) => document.machine,
  name: (document) => document.title,
  links: (document) =>
    (document.upkeep ?? []).map(({ by }, index) => tie('maintained by', 'person', by, `upkeep[${index}].by`)),
  contradictions,
  files: (document) =>
    (document.upkeep ?? []).flatMap(({ file }, index) =>
      file ? [{ path: file, field: `upkeep[${index}].file`, name: 'report' as const }] : [],
    ),
});
