import { z } from 'zod';

/**
 * How what was lost is simulated where first order is not enough: the part of a lot file that is there when specimens of the lot
 * were exposed. Whoever computes it again draws the same numbers, so that every digit is the same.
 */
export const SimulationPart = z.strictObject({
  generator: z.literal('Wichmann-Hill 2006'),
  seed: z.tuple([z.int().positive(), z.int().positive(), z.int().positive(), z.int().positive()]),
  draws: z.int().min(100).max(1_000_000),
});
export type SimulationPart = z.infer<typeof SimulationPart>;
