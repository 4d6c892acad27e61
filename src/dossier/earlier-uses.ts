import { z } from 'zod';

/** One use of a consumable in a closure or a load, of whatever lot. */
export const ConsumableUsed = z.strictObject({
  consumable: z.string(),
  kind: z.enum(['build', 'process-load']),
  key: z.string(),
  at: z.string().describe('when the chamber was closed, or the load was finished'),
  uses: z.int().positive(),
});
export type ConsumableUsed = z.infer<typeof ConsumableUsed>;

/**
 * The part of a lot file that is there when something that the lot used has a limit of uses: all uses of it up to the last
 * one of the lot, in order of time. Later ones are left out, so that a lot looks the same for ever.
 */
export const ConsumableUsesPart = z.strictObject({ uses: z.array(ConsumableUsed) });
