import { z } from 'zod';
import { BesideValues } from '../../dossier/beside-values.js';
import { FamilyValue } from '../../dossier/family-history.js';
import { HistoryContext } from '../../dossier/pool.js';
import { EntryRef } from '../../kinds/references.js';
import { Characteristic, PoolingRule } from '../../kinds/specification.js';
import { CapabilityPlan } from '../../kinds/trend/capability-plan.js';

/** What one build of one lot adds to a characteristic, made and measured alike. */
export const StudyRow = z.strictObject({
  lot: z.string(),
  build: z.string(),
  builtAt: z.string(),
  context: HistoryContext,
  values: z.array(z.strictObject({ specimen: z.string(), piece: z.string(), replicate: z.int(), value: z.number() })),
  bounds: z.int().describe('values reported only as below or above a bound'),
  takenOut: z.int().describe('values that a signed decision took out'),
  beside: BesideValues.describe('how they were made, by what they are judged, and what is drawn apart'),
});
export type StudyRow = z.infer<typeof StudyRow>;

const LimitsOfRevision = z.strictObject({
  specification: z.string(),
  revision: z.int(),
  effectiveFrom: z.string(),
  recordedAt: z.string().optional().describe('when it came on record; statements of earlier versions do not say it'),
  lower: z.string().nullable(),
  upper: z.string().nullable(),
  boundary: Characteristic.shape.boundary,
});

const RecordedOutcome = z.strictObject({
  signal: z.string(),
  rule: z.string(),
  points: z.array(z.string()),
  cause: z.string(),
  outcome: z.string(),
  by: z.string(),
  at: z.string(),
  revision: z.int(),
});
export type RecordedOutcome = z.infer<typeof RecordedOutcome>;

/** All that a study of a family rests on: from it alone anyone comes to the same numbers. */
export const StudyInput = z.strictObject({
  format: z.literal(1),
  family: z.string(),
  window: z.strictObject({ from: z.string(), to: z.string() }).describe('days of closing, both included'),
  characteristic: Characteristic,
  limits: LimitsOfRevision.describe('of the specification by which the latest lot is judged'),
  earlierLimits: z.array(LimitsOfRevision).describe('of the revisions before that one'),
  pooling: PoolingRule.describe('of that specification: by it lots are assessed'),
  plan: CapabilityPlan,
  approval: z.strictObject({ at: z.string(), code: z.string(), name: z.string() }),
  head: z
    .strictObject({ position: z.int(), digest: z.string() })
    .nullable()
    .describe('of the chained history that the rows are of'),
  baseline: z.array(FamilyValue).describe('values of the baseline as they stood when the plan was approved'),
  rows: z.array(StudyRow).describe('every build of the window, in build order'),
  unassessed: z
    .array(z.strictObject({ lot: z.string(), builtAt: z.string() }))
    .describe('lots of the window that the history knows nothing of'),
  outcomes: z.array(RecordedOutcome),
  impacts: z
    .array(z.strictObject({ impact: z.string(), cause: EntryRef, conclusion: z.string(), lots: z.array(z.string()) }))
    .describe('what was found off, and lots of the window of which it touches values'),
});
export type StudyInput = z.infer<typeof StudyInput>;
