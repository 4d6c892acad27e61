import { z } from 'zod';

/**
 * How what was lost is simulated where first order is not enough: the part of a lot file that is there when specimens of the lot
 * were exposed. Whoever computes it again draws the same numbers, so that every digit is the same.
 */
export const Simulation = z.strictObject({
  generator: z.literal('Wichmann-Hill 2006'),
  seed: z.tuple([z.int().positive(), z.int().positive(), z.int().positive(), z.int().positive()]),
  draws: z.int().min(100).max(1_000_000),
});
export type Simulation = z.infer<typeof Simulation>;

/**
 * What a lot file states from now on; one that was frozen before keeps its own. 10 000 draws are what JCGM 101:2008, 7.9.4
 * takes as the least of one run; a rank of 5 % of them is known to a fiftieth of the standard uncertainty (docs/trade.md 8.9).
 */
export const SIMULATION: Simulation = {
  ...{ generator: 'Wichmann-Hill 2006', seed: [2031, 3011, 4093, 5077], draws: 10_000 },
};
