import { z } from 'zod';
import type { CapabilityResult } from '../assessment/assessment.js';
import { FamilyIndex } from '../assessment/family/study-result.js';

/** A reviewed statement of capability as the record of a later lot cites it. */
export const CitedStatement = z.strictObject({
  characteristic: z.string(),
  number: z.int().positive(),
  digest: z.string(),
  at: z.string().describe('when it was stated'),
  window: z.strictObject({ from: z.string(), to: z.string() }),
  plan: z.strictObject({ plan: z.string(), revision: z.int() }),
  index: FamilyIndex.pick({
    ...({ says: true, ppk: true, ppkLower: true, confidence: true, target: true, more: true } as const),
    ...({ n: true, builds: true, noCpk: true, silent: true, percentile: true } as const),
  }),
  limits: z
    .strictObject({ lower: z.number(), upper: z.number() })
    .nullable()
    .describe('of its chart; null without a baseline'),
  review: z.strictObject({ by: z.string(), name: z.string(), at: z.string() }),
});
export type CitedStatement = z.infer<typeof CitedStatement>;

/** How many points of a lot lie within the limits of the cited baseline; undefined where they are no points of that chart. */
export function withinCited(
  { plan, limits }: CitedStatement,
  { chart, points }: CapabilityResult,
): { readonly points: number; readonly within: number } | undefined {
  if (limits === null || chart === null || chart.plan !== plan.plan || chart.revision !== plan.revision)
    return undefined;
  const own = points.filter(({ ofThisLot }) => ofThisLot);
  return {
    points: own.length,
    within: own.filter(({ value }) => value >= limits.lower && value <= limits.upper).length,
  };
}
