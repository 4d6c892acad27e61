import { z } from 'zod';

/**
 * A fact of the build that was entered late: more than 24 hours after it happened (docs/trade.md 11.2). A result says it by
 * its own times.
 */
export const LateFact = z.strictObject({
  what: z.enum(['build', 'log', 'step', 'powder state', 'powder test', 'changeover']),
  key: z.string().describe('the build, the powder state, the changeover; of a step its name'),
  detail: z.string().describe('name of the log file, or the property that was tested; else empty'),
  fields: z.array(z.string()).nullable().describe('which of its fields came late; null where all of it did'),
  happenedAt: z.string(),
  recordedAt: z.string(),
  by: z.string().describe('who entered it'),
});
export type LateFact = z.infer<typeof LateFact>;

/** The part of a lot file that is there when a fact of the build was entered late. */
export const LatePart = z.strictObject({ facts: z.array(LateFact) });
