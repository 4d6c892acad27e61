import { z } from 'zod';
import { ApartValue, Nonconforming } from '../../dossier/beside-values.js';
import { ExclusionReason } from '../../dossier/pool.js';
import { MethodRef } from '../../kinds/fields.js';
import { CapabilityResult } from '../assessment.js';
import { StudyInput } from './study-input.js';

/** With one of these nothing is stated: what would be told of are several things, or none. */
export const REFUSALS = [
  ...(['exposures differ', 'two nominal values', 'two methods in a lot', 'no nominal value'] as const),
  'no lot of the plan',
] as const;

const NumberOrNull = z.number().nullable();

const Trial = z.strictObject({
  factor: z.enum(['machine', 'recipe group', 'recipe', 'method', 'zone class', 'supplier', 'type']),
  groups: z.array(z.strictObject({ name: z.string(), builds: z.int(), mean: z.number(), sd: NumberOrNull })),
  variance: z.strictObject({ f: z.number(), p: z.number() }).nullable().describe('Brown-Forsythe over means of builds'),
  mean: z
    .strictObject({ f: z.number(), p: z.number() })
    .nullable()
    .describe('analysis of variance over means of builds'),
  verdict: z.enum(['nothing against it', 'fails', 'too few builds to tell']),
});
export type Trial = z.infer<typeof Trial>;

const Signal = z.strictObject({
  id: z.string().describe('SHA-256 over plan, revision, rule and points'),
  rule: z.string(),
  points: z.array(z.string()),
  lots: z.array(z.string()),
  first: z.int().describe('index of its first point, from 0'),
  last: z.int().describe('index of the point at which it is complete'),
  at: z.string().describe('when the build of that point was closed'),
  asks: z.boolean().describe('it came after the plan was approved, so that people have to say what it came from'),
  outcome: z.strictObject({ cause: z.string(), outcome: z.string(), by: z.string(), at: z.string() }).nullable(),
});
export type StudySignal = z.infer<typeof Signal>;

const ChangeLine = z.strictObject({
  before: z.int().describe('index of the first point after it'),
  what: z.enum([
    ...(['machine', 'recipe', 'recipe group', 'method', 'zone class', 'heat', 'supplier', 'medium'] as const),
    ...(['blend share', 'operator', 'maintenance', 'filter', 'tip', 'tool', 'peening media'] as const),
    ...(['analyst', 'instrument', 'calibration', 'medium batch'] as const),
  ]),
  from: z.string(),
  to: z.string(),
  used: z
    .array(z.strictObject({ code: z.string(), uses: z.int(), hours: z.number() }))
    .optional()
    .describe(
      'of what wears out, how much that before it had been used at its last build; hours since it came into use',
    ),
  machine: z.string().nullable().describe('on which it changed; null for what is of all machines'),
});
export type ChangeLine = z.infer<typeof ChangeLine>;

/** A value that is no point of the chart, beside those of its lot. Bounds alone may count in an index. */
const Apart = z.strictObject({
  ...ApartValue.shape,
  lot: z.string(),
  build: z.string(),
  builtAt: z.string(),
  machine: z.string(),
  beside: z.int().describe('index of the point at whose place it is drawn: the last one built no later'),
});
export type Apart = z.infer<typeof Apart>;

export const Coincidences = z.strictObject({
  lots: z.int(),
  least: z.int().describe('fewer lots are not compared'),
  compared: z.int().describe('comparisons that were made in all'),
  ranked: z.array(
    z.strictObject({
      ...{ before: z.int(), what: ChangeLine.shape.what, from: z.string(), to: z.string() },
      signal: z.string().describe('identity of the first signal near it'),
      by: z.enum(['mean', 'spread']).describe('in what the points before and after it differ more'),
      p: z.number(),
      corrected: z.number().describe('the probability times the number of comparisons, at most 1'),
    }),
  ),
});
export type Coincidences = z.infer<typeof Coincidences>;

export const StudyChart = z.strictObject({
  scale: z.enum(['as they are', 'deviation from nominal', 'standardised']),
  specified: z
    .strictObject({ lower: NumberOrNull, upper: NumberOrNull, target: NumberOrNull })
    .describe('limits and target on that scale'),
  points: z.array(
    z.strictObject({
      name: z.string(),
      lot: z.string(),
      build: z.string(),
      builtAt: z.string(),
      machine: z.string(),
      value: z.number(),
      size: z.int(),
      within: NumberOrNull.describe('standard deviation of the values of the point'),
      inBaseline: z.boolean(),
    }),
  ),
  baseline: z.strictObject({ points: z.int(), from: z.string(), to: z.string() }).nullable(),
  limits: z
    .strictObject({
      centre: z.number(),
      sigma: z.number(),
      lower: z.number(),
      upper: z.number(),
      rangeUpper: z.number(),
      withinUpper: z.array(NumberOrNull).describe('upper limit of the spread within each point'),
    })
    .nullable(),
  ranges: z.array(z.number()),
  ewma: z
    .strictObject({ points: z.array(z.number()), lower: z.array(z.number()), upper: z.array(z.number()) })
    .nullable(),
  cusum: z.strictObject({ high: z.array(z.number()), low: z.array(z.number()), limit: z.number() }).nullable(),
  changes: z.array(ChangeLine),
  apart: z.array(Apart),
  signals: z.array(Signal),
  falseRun: z
    .strictObject({ points: z.int(), atLeast: z.boolean() })
    .nullable()
    .describe(
      'after how many points the rules signal by chance, in the middle of simulated cells with such a baseline',
    ),
});
export type StudyChart = z.infer<typeof StudyChart>;

const Silent = z.enum([
  ...(['too few values', 'all equal', 'not normal', 'bounds', 'no fit', 'pool fails', 'types apart'] as const),
  ...REFUSALS,
]);
/** Why no index is stated, as far as one word tells. */
export type Silent = z.infer<typeof Silent>;

const {
  n,
  lots,
  builds,
  mean,
  sd,
  ppk,
  ppkLower,
  bounds,
  spread,
  normality,
  within,
  distribution,
  target,
  method,
  notes,
} = CapabilityResult.shape;

export const FamilyIndex = z.strictObject({
  ...{
    n,
    lots,
    builds,
    mean,
    sd,
    ppk,
    ppkLower,
    bounds,
    spread,
    normality,
    within,
    distribution,
    target,
    method,
    notes,
  },
  confidence: CapabilityResult.shape.confidence,
  gauge: z
    .strictObject({ sd: z.number(), ofSpread: z.number(), ofTolerance: NumberOrNull })
    .nullable()
    .describe('of the measurement: its share of the variance, and six of its standard deviations by the tolerance'),
  bounded: z.int().describe('values reported only as a bound, of the builds that count'),
  undecided: z.int().describe('those of them of which nobody can say whether the value keeps the limits'),
  reml: z
    .strictObject({ within: z.number(), between: z.number() })
    .nullable()
    .describe('standard deviations by restricted maximum likelihood'),
  cpk: z.strictObject({ value: z.number(), lower: z.number(), sigma: z.number(), points: z.int() }).nullable(),
  noCpk: z
    .enum([
      ...(['no index', 'one build', 'too few points', 'signals'] as const),
      ...(['no limits', 'bounds', 'baseline', 'plan after data'] as const),
    ])
    .nullable(),
  percentile: z
    .strictObject({
      ppk: z.number(),
      low: z.number(),
      middle: z.number(),
      high: z.number(),
      parameters: z.record(z.string(), z.number()),
    })
    .nullable()
    .describe('by the distribution that the plan names, where it is not the normal one'),
  tolerance: z
    .strictObject({ content: z.number(), factor: z.number(), lower: NumberOrNull, upper: NumberOrNull })
    .nullable(),
  more: z
    .strictObject({ target: z.number(), builds: z.int().nullable(), perBuild: z.number() })
    .nullable()
    .describe('so many further builds like these would show the target; null where it would take too many to say'),
  says: z.enum(['able', 'not able', 'too few', 'not stated']),
  silent: Silent.nullable().describe('why there is no index by whatever distribution; null where there is one'),
});
export type FamilyIndex = z.infer<typeof FamilyIndex>;

export const StudyNote = z.discriminatedUnion('code', [
  note('no baseline', { points: z.int() }),
  note('short baseline', { points: z.int(), least: z.int() }),
  note('unstable baseline', { signals: z.int() }),
  note('data before the plan', { points: z.int() }),
  note('limits moved', {
    ...{ revision: z.int(), effectiveFrom: z.string(), lots: z.int() },
    recordedAt: z.string().optional().describe('where it came on record after that: it counts from then on'),
  }),
  note('pool fails', { factors: z.array(z.string()) }),
  note('pools more', {
    ...{ machines: z.array(z.string()), recipeGroups: z.array(z.string()), methods: z.array(MethodRef) },
    before: z.string().nullable().describe('day before which the specification counts no build; null where none is'),
  }),
  note('overdue', { uses: z.array(z.strictObject({ instrument: z.string(), lots: z.array(z.string()) })) }),
  note('impacts', { impacts: z.array(StudyInput.shape.impacts.element) }),
  note('lots missing', { lots: z.array(z.string()) }),
  note('mostly bounds', { bounds: z.int(), values: z.int() }),
  note('bounds undecided', { bounds: z.int() }),
  note('bounds counted', { bounds: z.int(), values: z.int() }),
  note('points alike', {}),
  note('exposures differ', {
    what: z.enum(['medium', 'protocol', 'duration', 'face', 'sterilisation', 'flow', 'gas', 'temperature']),
    a: z.string(),
    b: z.string(),
  }),
  note('two nominal values', { lots: z.array(z.string()) }),
  note('no nominal value', { lots: z.array(z.string()) }),
  note('limits differ by type', {}),
  note('type without spread', { types: z.array(z.string()) }),
  note('two methods in a lot', { lots: z.array(z.string()) }),
  note('no lot of the plan', { rows: z.int() }),
]);
export type StudyNote = z.infer<typeof StudyNote>;

function note<Code extends string, Shape extends z.ZodRawShape>(code: Code, facts: Shape) {
  return z.strictObject({ code: z.literal(code), facts: z.strictObject(facts) });
}

/** What the builds of a family say of one characteristic under a signed plan. */
export const FamilyStudy = z.strictObject({
  format: z.literal(1),
  listed: z
    .array(
      z.strictObject({
        lot: z.string(),
        build: z.string(),
        builtAt: z.string(),
        values: z.int(),
        bounds: z.int(),
        takenOut: z.int(),
        again: z.int().describe('repeats, replacements, and values after a rework: in no number'),
        mean: NumberOrNull,
        leftOut: ExclusionReason.nullable(),
      }),
    )
    .describe('every build of the window, and why its values do not count'),
  trials: z.array(Trial),
  chart: StudyChart,
  index: FamilyIndex.describe('over all that the plan pools'),
  nonconforming: z
    .strictObject({
      specimens: z.array(z.strictObject({ lot: z.string(), ...Nonconforming.shape })),
      without: FamilyIndex,
    })
    .nullable()
    .describe('the index without the values of specimens that were decided not to conform; null without any'),
  coincidences: Coincidences,
  split: z
    .array(z.strictObject({ factor: Trial.shape.factor, name: z.string(), index: FamilyIndex }))
    .describe('over each group of a factor by which the pool fails'),
  was: z
    .array(
      z.strictObject({
        id: z.string(),
        rule: z.string(),
        points: z.array(z.string()),
        cause: z.string(),
        outcome: z.string(),
        by: z.string(),
        at: z.string(),
      }),
    )
    .describe('signals with an outcome that a later correction removed'),
  notes: z.array(StudyNote),
});
export type FamilyStudy = z.infer<typeof FamilyStudy>;
