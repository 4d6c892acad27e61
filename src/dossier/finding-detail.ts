import { z } from 'zod';

/** Why a line of a log was not used. */
export const RejectionCode = z.enum([
  'line too long',
  'timestamp',
  'layer',
  'zone',
  'step',
  'number',
  'time series',
  'number of fields',
  'quotes',
  'control character',
  'encoding',
  'time going back',
  'unfinished line',
]);
export type RejectionCode = z.infer<typeof RejectionCode>;

/** Why a dew point could not be turned into a share of the gas. */
export const DewPointTrouble = z.enum(['no pressure', 'pressure not above that of the vapour', 'outside the formula']);
export type DewPointTrouble = z.infer<typeof DewPointTrouble>;

/** Where one of several files says that the machine is. */
const SaidPlace = z.strictObject({
  zone: z.string().nullable(),
  layer: z.int().nullable(),
  step: z.string().describe('empty for none'),
});
export type SaidPlace = z.infer<typeof SaidPlace>;

const Lasted = { lastedS: z.number(), limitS: z.number() };
const Files = { first: z.string().describe('name of the file that counts'), second: z.string() };

/**
 * What exactly a log finding is about, where its rule alone does not say it: a code with names and numbers. A part carries
 * it so; the words are made in `src/report/phrases/log-finding.ts`.
 */
export const FindingDetail = z.discriminatedUnion('code', [
  z.strictObject({ code: z.literal('channel'), channel: z.string() }),
  z.strictObject({ code: z.literal('zone'), zone: z.string() }),
  z.strictObject({ code: z.literal('no zone named'), step: z.string() }),
  z.strictObject({ code: z.literal('step'), step: z.string(), zone: z.string() }),
  z.strictObject({ code: z.literal('no step named'), zone: z.string() }),
  z.strictObject({ code: z.literal('too soon'), times: z.int(), everyLayers: z.int() }),
  z.strictObject({ code: z.literal('too short'), ...Lasted }),
  z.strictObject({ code: z.literal('too long'), ...Lasted }),
  z.strictObject({
    code: z.literal('order'),
    step: z.string(),
    after: z.string(),
    layer: z.enum(['same', 'later']).describe('whether the step before it was at the same layer or at a later one'),
  }),
  z.strictObject({ code: z.literal('rejected'), reason: RejectionCode }),
  z.strictObject({ code: z.literal('dew point'), trouble: DewPointTrouble }),
  z.strictObject({ code: z.literal('files'), ...Files }),
  z.strictObject({
    code: z.literal('values'),
    ...Files,
    firstValue: z.number(),
    secondValue: z.number(),
    ucum: z.string(),
  }),
  z.strictObject({ code: z.literal('places'), ...Files, firstPlace: SaidPlace, secondPlace: SaidPlace }),
  z.strictObject({ code: z.literal('sequence numbers'), from: z.int(), to: z.int() }),
  z.strictObject({ code: z.literal('agent restarted'), instance: z.string() }),
  z.strictObject({
    code: z.literal('version'),
    said: z.string().describe('version of the standard, as the header of a document names it'),
    readBy: z.string().describe('the version that the namespace of the document names, by which it was read'),
  }),
  z.strictObject({
    code: z.literal('condition'),
    dataItem: z.string(),
    state: z.string().describe('as the machine names it: Fault, Warning, Unavailable'),
    type: z.string(),
    nativeCode: z.string().describe('of the machine itself; empty for none'),
    message: z.string(),
  }),
]);
export type FindingDetail = z.infer<typeof FindingDetail>;

/** What a break of the inert atmosphere joins: the rule of a finding, and its channel where it is of one. */
export const JoinedCause = z.strictObject({ rule: z.string(), channel: z.string().nullable() });
export type JoinedCause = z.infer<typeof JoinedCause>;
