import { z } from 'zod';
import { Code, Format, PastMoment, Reason, Sha256, Text, whole } from '../fields.js';
import { type Contradiction, defineKind, repeated, tie } from '../kind.js';
import { EntryRef, tiesToCodes } from '../references.js';

export const SignalOutcome = z.strictObject({
  kind: z.literal('signal-outcome'),
  format: Format,
  signal: Sha256.describe('identity of the signal, over plan, rule and points'),
  plan: z.strictObject({ plan: Code, revision: whole(1) }),
  rule: Code.describe('run rule that it comes from, as the plan names it'),
  points: z.array(Text).min(1).describe('points that make the pattern, as the chart names them'),
  lots: z.array(Code).min(1).describe('lots of these points'),
  cause: Text.describe('what it came from, or that no cause was found and where it was sought'),
  outcome: z.enum(['no action', 'process set right', 'measurement set right', 'plan changed', 'nonconformity']),
  event: EntryRef.optional().describe('what it coincides with: a recipe, a calibration of an instrument, a receipt'),
  by: Code,
  at: PastMoment,
  reason: Reason,
});
export type SignalOutcome = z.infer<typeof SignalOutcome>;

function contradictions({ points, lots }: SignalOutcome): Contradiction[] {
  return [
    ...repeated(points, (index) => `points[${index}]`, 'point'),
    ...repeated(lots, (index) => `lots[${index}]`, 'lot'),
  ];
}

export const signalOutcome = defineKind<SignalOutcome>({
  kind: 'signal-outcome',
  numbering: 'running',
  purpose: 'What a signal of a chart came from, and what was done about it.',
  schema: SignalOutcome,
  key: (document) => document.signal,
  name: (document) => `${document.rule}: ${document.outcome}`,
  links: ({ plan, lots, event, by }) => [
    tie('signal of plan', 'capability-plan', plan.plan, 'plan', { revision: plan.revision }),
    ...tiesToCodes('on lot', 'lot', lots, 'lots', { aside: true }),
    ...(event === undefined ? [] : [tie('coincides with', event.kind, event.key, 'event')]),
    tie('decision made by', 'person', by, 'by'),
  ],
  contradictions,
});
