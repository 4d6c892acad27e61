import { z } from 'zod';

/** One of the four generators: its state lies below its modulus. */
const state = (modulus: number) =>
  z
    .int()
    .min(1)
    .max(modulus - 1);

/** Draws that lie beyond an end, at least: with fewer of them an end is a matter of chance. */
const LEAST_BEYOND = 100;

/**
 * How what was lost is simulated where first order is not enough: the part of a lot file that is there when specimens of the lot
 * were exposed. Whoever computes it again draws the same numbers, so that every digit is the same.
 */
export const Simulation = z.strictObject({
  generator: z.literal('Wichmann-Hill 2006'),
  seed: z.tuple([state(2147483579), state(2147483543), state(2147483423), state(2147483123)]),
  draws: z.int().min(2000, 'needs at least 2000 draws').max(100_000, 'takes at most 100 000 draws'),
});
export type Simulation = z.infer<typeof Simulation>;

/**
 * What a lot file states from now on; one that was frozen before keeps its own. 10 000 draws leave 500 beyond an end at 95 %, and
 * 100 at 99 %. How well an end is known by them hangs on what is drawn: to a fiftieth of the standard uncertainty for a normal
 * number, to a quarter of it for Student's t of one degree of freedom (docs/trade.md 8.9).
 */
export const SIMULATION: Simulation = {
  ...{ generator: 'Wichmann-Hill 2006', seed: [2031, 3011, 4093, 5077], draws: 10_000 },
};

/** Whether draws are enough for ends of this confidence, one-sided. */
export const isReached = ({ draws }: Pick<Simulation, 'draws'>, confidence: number): boolean =>
  draws * (1 - confidence) >= LEAST_BEYOND - 1e-6;
