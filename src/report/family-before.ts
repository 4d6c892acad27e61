import { z } from 'zod';
import { CapabilityResult } from '../assessment/assessment.js';

/** What the record of an earlier lot said of the family, so that a later one can say what changed. */
export const FamilyBefore = z.strictObject({
  record: z.strictObject({ number: z.string(), revision: z.int().positive() }),
  capability: z.array(
    CapabilityResult.pick({
      characteristic: true,
      n: true,
      lots: true,
      builds: true,
      mean: true,
      sd: true,
      ppk: true,
      ppkLower: true,
    }),
  ),
});
export type FamilyBefore = z.infer<typeof FamilyBefore>;
