import { z } from 'zod';
import { RANGE_OUTCOMES } from '../../design-history/standing-place.js';
import { ExposedAs } from '../../dossier/exposed.js';

/** What command, API and pages answer on ranges that were shown so far. */

const Shown = z.strictObject({
  name: z.string(),
  ucum: z.string(),
  min: z.string(),
  max: z.string(),
  distinct: z.int().describe('different values that were shown'),
});

const Validated = z.strictObject({ min: z.string(), max: z.string(), validation: z.string(), revision: z.int() });

const ValuesAnswered = z.strictObject({
  n: z.int(),
  lots: z.int(),
  builds: z.int(),
  mean: z.number(),
  sd: z.number().nullable().describe('divisor n − 1; null of a single value'),
  min: z.number(),
  max: z.number(),
});
export type ValuesAnswered = z.infer<typeof ValuesAnswered>;

const SettingsAnswered = z.strictObject({
  machine: z.string(),
  zoneClass: z.string().describe('empty for what speaks of the whole part'),
  axes: z.array(
    Shown.extend({
      validated: z.array(Validated).describe('as process validations of that day that were approved here state it'),
    }),
  ),
  measured: z.array(
    z.strictObject({
      characteristic: z.string(),
      title: z.string(),
      method: z.string(),
      methodRevision: z.int(),
      ucum: z.string(),
      exposed: ExposedAs.nullable(),
    }),
  ),
  points: z.array(
    z.strictObject({
      at: z.array(z.string()).describe('in the order of the axes'),
      recipes: z.array(z.strictObject({ recipe: z.string(), revision: z.int() })),
      values: z.array(ValuesAnswered.nullable()).describe('first-pass values, in the order of what was measured'),
    }),
  ),
});
export type SettingsAnswered = z.infer<typeof SettingsAnswered>;

const PointsAnswered = z.strictObject({
  zoneClass: z.string(),
  axes: z.array(Shown),
  points: z.array(z.strictObject({ at: z.array(z.string()), lots: z.array(z.string()) })),
});
export type PointsAnswered = z.infer<typeof PointsAnswered>;

export const RangesAnswer = z.strictObject({
  family: z.string(),
  caution: z.string(),
  settings: z.array(SettingsAnswered),
  windows: z.array(PointsAnswered).describe('what was asked of zones of lots that were built'),
  designs: z.array(PointsAnswered).describe('parameters of designs that were built'),
  exposures: z
    .array(
      z.strictObject({
        zoneClass: z.string(),
        medium: z.string(),
        mediumRevision: z.int(),
        weeks: z.number(),
        says: z.string(),
      }),
    )
    .describe('the longest exposure on record'),
  leftOut: z.array(
    z.strictObject({ recipe: z.string(), revision: z.int(), zoneClass: z.string(), values: z.int(), says: z.string() }),
  ),
});
export type RangesAnswer = z.infer<typeof RangesAnswer>;

const PartAnswered = z.strictObject({
  about: z.enum(['settings', 'window', 'design']),
  zone: z.string().nullable(),
  zoneClass: z.string(),
  title: z.string(),
  outcome: z.enum(RANGE_OUTCOMES),
  says: z.string(),
  spans: z.string().nullable().describe('how much was varied of what, where something was shown'),
  points: z.int(),
  varied: z.int(),
  dimension: z.int(),
  isInRanges: z.boolean().nullable(),
  isInHull: z.boolean().nullable(),
  axes: z.array(Shown.extend({ demanded: z.string(), side: z.enum(['inside', 'below', 'above']), says: z.string() })),
  near: z.array(z.strictObject({ lots: z.array(z.string()), distance: z.number(), says: z.string() })),
  toShow: z.array(z.string()),
});
export type PartAnswered = z.infer<typeof PartAnswered>;

export const CaseRangesAnswer = z.strictObject({
  case: z.string(),
  iteration: z.int(),
  family: z.string(),
  recipe: z.string(),
  revision: z.int(),
  machine: z.string(),
  says: z.string(),
  isInside: z.boolean().describe('whether all of it lies inside what was shown'),
  parts: z.array(PartAnswered),
  scaling: z.string(),
  caution: z.string(),
});
export type CaseRangesAnswer = z.infer<typeof CaseRangesAnswer>;
