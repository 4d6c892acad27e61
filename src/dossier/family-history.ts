import { z } from 'zod';
import { RecipeStep } from '../kinds/fields.js';
import type { Recipe } from '../kinds/recipe.js';
import { ExclusionReason } from './pool.js';
import { Digest } from './schema.js';

/** A single value, and where it comes from. */
export const FamilyValue = z.strictObject({
  lot: z.string(),
  build: z.string(),
  builtAt: z.string(),
  specimen: z.string(),
  piece: z.string(),
  replicate: z.int(),
  value: z.number(),
  type: z.string().optional().describe('of part, where a plan brings several together: the specification of its lot'),
  nominal: z.string().optional().describe('target of that specification'),
});
export type FamilyValue = z.infer<typeof FamilyValue>;

/** A value that a signed decision took out: it is in no sum. */
export const TakenOutValue = z.strictObject({
  lot: z.string(),
  build: z.string(),
  specimen: z.string(),
  piece: z.string(),
  replicate: z.int(),
  value: z.string(),
  cause: z.string(),
  decidedBy: z.string(),
});
export type TakenOutValue = z.infer<typeof TakenOutValue>;

const Head = z.strictObject({
  position: z.int().positive(),
  digest: Digest.describe('of the row at this position, which is chained with every one before it'),
});

/** n, mean and sum of squared deviations give a spread; null without a value. */
const sums = {
  n: z.int().nonnegative(),
  mean: z.number().nullable(),
  min: z.number().nullable(),
  max: z.number().nullable(),
};

export const CharacteristicHistory = z.strictObject({
  characteristic: z.string(),
  head: Head,
  /** Over every build that was closed before the first one of this lot, as far as the pooling rule admits its values. */
  pool: z.strictObject({
    ...sums,
    sumSquaredDeviations: z.number().nullable(),
    /** Of each value from the mean of its build. */
    sumSquaredWithinBuilds: z.number().nullable(),
    /** Builds by how many values they have: how many there are, the mean of their means, and how far these deviate from it. */
    buildSizes: z.array(
      z.strictObject({
        values: z.int().positive(),
        builds: z.int().positive(),
        mean: z.number(),
        sumSquaredDeviations: z.number(),
      }),
    ),
    lots: z.int().nonnegative(),
    builds: z.int().nonnegative(),
  }),
  excluded: z.array(z.strictObject({ why: ExclusionReason, values: z.int(), lots: z.int() })),
  /** All are counted, the last ones named. */
  takenOut: z.strictObject({ values: z.int(), last: z.array(TakenOutValue) }),
  /** The last builds of the pool, in build order. */
  builds: z.array(
    z.strictObject({ lot: z.string(), build: z.string(), builtAt: z.string(), ...sums, censored: z.int() }),
  ),
  /**
   * The values of the last points, in build order, on which the rules of the chart look back: of the pool of the plan
   * where there is one. A point that is the mean of a build or lot has all its values.
   */
  last: z.array(FamilyValue),
  /** The signed plan that was in force when the first build of this lot closed, with what fixes the limits of the chart. */
  plan: z
    .strictObject({
      plan: z.string(),
      revision: z.int(),
      approvedAt: z.string(),
      approvedBy: z.strictObject({ code: z.string(), name: z.string() }),
      /** The history as it stood when the plan was approved; null where there was none. */
      head: Head.nullable(),
      baseline: z.array(FamilyValue),
    })
    .optional(),
});
export type CharacteristicHistory = z.infer<typeof CharacteristicHistory>;

/** What a recipe sets in one step of a zone. */
export const StepSettings = z.strictObject({
  zone: z.string(),
  step: RecipeStep,
  everyLayers: z.int().positive(),
  parameters: z.array(z.strictObject({ parameter: z.string(), set: z.string(), ucum: z.string() })),
});
export type StepSettings = z.infer<typeof StepSettings>;

export const stepSettings = ({ zones }: Recipe): StepSettings[] =>
  zones.flatMap(({ zone, steps }) =>
    steps.map(({ step, everyLayers, parameters }) => ({
      ...{ zone, step, everyLayers },
      parameters: parameters.map(({ parameter, set, ucum }) => ({ parameter, set, ucum })),
    })),
  );

/** What a lot file carries of the earlier builds of its family: heads, sums, and few single values. */
export const FamilyHistory = z.strictObject({
  format: z.literal(1),
  /** The build before the first one of this lot, whatever its pool. */
  lastBuild: z.strictObject({
    lot: z.string(),
    build: z.string(),
    recipe: z.string(),
    recipeRevision: z.int(),
    settings: z.array(StepSettings).optional().describe('what its recipe set, where no part of this lot is made by it'),
  }),
  characteristics: z.array(CharacteristicHistory),
});
export type FamilyHistory = z.infer<typeof FamilyHistory>;

/** Most builds, points to look back on, and values taken out that a lot file names for each characteristic. */
export const MOST_NAMED = 25;
