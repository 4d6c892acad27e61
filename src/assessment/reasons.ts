import { z } from 'zod';

/**
 * Why a value, a plan or an index stands as it does: a code, and the facts that no other part of the lot file or of the
 * assessment gives. Words about them stand in `report/phrases` (docs/decisions/words-above-facts.md).
 */
const reason = <Code extends string, Shape extends z.ZodRawShape>(code: Code, facts: Shape) =>
  z.strictObject({ code: z.literal(code), facts: z.strictObject(facts) });

/** Whole numbers from one to another, both included. */
const Range = z.strictObject({ from: z.int(), to: z.int() });
export type Range = z.infer<typeof Range>;

/** What is there and what is missing of the planned values of one specimen. */
export const MissingValues = z.strictObject({
  found: z.int(),
  missing: z.int(),
  /** Rows of the values that are there. */
  rows: z.array(Range),
  /** Numbers of a piece that are left out below one that is there, with the row of the highest that is. */
  leftOut: z.array(z.strictObject({ piece: z.string(), replicate: z.int(), row: z.int(), numbers: z.array(Range) })),
});
export type MissingValues = z.infer<typeof MissingValues>;

/** What an equivalence study found between coupon and implant, as it says it. */
export const AppliedStudy = z.strictObject({
  /** Code and revision. */
  study: z.string(),
  bias: z.string(),
  standardUncertainty: z.string(),
  /** Unit of both; empty for shares of the value. */
  ucum: z.string(),
});
export type AppliedStudy = z.infer<typeof AppliedStudy>;

/** Number of values of which the mean was judged, where it was not the value itself. */
const judged = {
  meanOf: z.int().optional(),
  /** Limits as a study moved them for the coupon, where it did. */
  moved: z.strictObject({ lower: z.string().optional(), upper: z.string().optional(), study: AppliedStudy }).optional(),
};

const otherMethod = reason('other method', { row: z.int(), method: z.string(), revision: z.string() });
const studyUnit = reason('study in another unit', { study: z.string(), ucum: z.string() });
const incomplete = reason('incomplete', MissingValues.shape);
const boundInMean = reason('bound in a mean', { value: z.string() });

/** Why one value has its verdict. What it is compared with stands in its characteristic. */
export const ValueReason = z.discriminatedUnion('code', [
  reason('inside', judged),
  reason('outside', judged),
  reason('only a bound', { value: z.string() }),
  reason('inside by more than the guard band', judged),
  reason('outside by more than the guard band', judged),
  reason('within the guard band', judged),
  reason('no uncertainty', judged),
  reason('missing', {}),
  reason('invalid test', { cause: z.string(), decidedBy: z.string() }),
  /** Its specimen went through a rework only later, or through one that the implant did not go through. */
  reason('before rework', { instruction: z.string(), at: z.string() }),
  reason('after rework', { instruction: z.string(), at: z.string() }),
  otherMethod,
  studyUnit,
  incomplete,
  boundInMean,
]);
export type ValueReason = z.infer<typeof ValueReason>;

/** Why the values of one specimen cannot be counted as planned. */
const GapReason = z.discriminatedUnion('code', [otherMethod, studyUnit, incomplete, boundInMean]);
export type GapReason = z.infer<typeof GapReason>;

export const SpecimenGap = z.strictObject({ specimen: z.string(), reasons: z.array(GapReason) });
export type SpecimenGap = z.infer<typeof SpecimenGap>;

/** Why a process validation may not be relied on for a build. */
export const ValidationFault = z.discriminatedUnion('code', [
  reason('not in the lot file', { validation: z.string() }),
  reason('not approved', { validation: z.string() }),
  reason('approved after the build', { validation: z.string(), approvedAt: z.string(), closedAt: z.string() }),
  reason('not valid on the build date', {
    validation: z.string(),
    from: z.string(),
    until: z.string(),
    closedAt: z.string(),
  }),
]);
export type ValidationFault = z.infer<typeof ValidationFault>;

/** What came of a plan; its numbers stand beside it. */
export const PlanOutcome = z.enum([
  'counted',
  'accepted',
  'not accepted',
  'within the guard band',
  'no uncertainty',
  'gaps',
  'only bounds',
  'too few values',
  'no spread',
  'specimens open',
  'too few specimens',
  'build too small',
  'value outside',
  'validation not to be relied on',
  'nothing shown',
  'limits not shown',
  'value open',
  'moved',
]);
export type PlanOutcome = z.infer<typeof PlanOutcome>;

/** What a reader of the verdict has to know besides. */
export const VerdictNote = z.discriminatedUnion('code', [
  reason('uncertainty not stated', { without: z.int(), values: z.int() }),
  reason('mean judged', {}),
  reason('study applied', AppliedStudy.shape),
]);
export type VerdictNote = z.infer<typeof VerdictNote>;

export const CapabilityNote = z.discriminatedUnion('code', [
  reason('too few for a spread', { values: z.int() }),
  reason('all equal', {}),
  reason('too few for an index', { values: z.int(), least: z.int() }),
  reason('performance, not capability', {}),
  /** Nothing was tested. */
  reason('assumes normal values', {}),
  /** Why no bound is stated. */
  reason('one build', {}),
  /** Why no index is stated. */
  reason('bounds among them', { bounds: z.int() }),
  reason('not normal', {}),
  reason('other distribution', {}),
  /** Why the chart has points and no limits. */
  reason('no plan in force', {}),
  reason('no baseline', { plan: z.string(), revision: z.int(), values: z.int() }),
  reason('standardised by type', { plan: z.string(), revision: z.int() }),
  /** Why points of this lot are not tested. */
  reason('not of the pool of the plan', { plan: z.string(), revision: z.int(), values: z.int() }),
]);
export type CapabilityNote = z.infer<typeof CapabilityNote>;
