import { z } from 'zod';
import { SIMULATION, StatedSimulation } from '../degradation/simulation.js';
import { nonNegative, positive } from '../statistics/inputs.js';

/** Exposures of several durations, as both calculations on loss against time take them. */
export const losses = z
  .array(
    z.strictObject({
      hours: positive('time of exposure, in h'),
      depthUm: nonNegative('mean depth lost on each exposed face, in µm'),
      standardUncertaintyUm: nonNegative('standard uncertainty of measuring it, in µm'),
      build: z.string().optional().describe('build of the specimen; all of one build when absent'),
    }),
  )
  .min(1, 'needs at least one exposure')
  .max(1000, 'takes at most 1000 exposures')
  .describe(
    'list of exposures in one medium, by one protocol, on one face: hours, depthUm, standardUncertaintyUm, build',
  );

/** A mean depth per face from a mass loss, told where a calculation takes depths. */
export const DEPTH_OF_MASS = 'depthUm of a mass loss = 10000 × W / (A × D), W g, A cm², D g/cm³';

/** By which an uncertainty is simulated: what lot files state when nothing is given. */
export const simulation = z
  .strictObject({
    seed: StatedSimulation.shape.seed.default([...SIMULATION.seed]),
    draws: StatedSimulation.shape.draws.default(SIMULATION.draws),
  })
  .default({ seed: [...SIMULATION.seed], draws: SIMULATION.draws })
  .describe('seed of the generator, four whole numbers, and draws, 2000 to 100 000; those of lot files when absent');

/** The generator in words, as both calculations that draw tell it. */
export const GENERATOR =
  'generator: x1 = 11600 x1 mod 2147483579, x2 = 47003 x2 mod 2147483543, x3 = 23000 x3 mod 2147483423, x4 = 33000 x4 mod 2147483123; u = fraction of the sum of each over its modulus; normal pair √(−2 ln u1) × cos and sin of 2π u2';

/** How the deepest attack is simulated. */
export const SIMULATED: readonly string[] = [
  'simulated where the law has a b or the factor is spread, and a and b of half widths are bounded: each end by draws counts where it lies farther out than that of half widths by more than chance:',
  GENERATOR,
  'of each draw three pairs: z1 and z2, z3 and z4, z5; then of each draw q = χ² of the degrees of freedom n of the spread, −2 ln u for each two of them and z² (the first of a pair) for one left over, of more than 100 n max(0, 1 − p + z √p)³ with p = 2/(9 n), and z1, z2, z3 times √(n/q); then in the same way z5 with those of the factor, rounded down and not below 1, where it has some',
  'e loss of the law at the longest exposure L, of which first order gives variance and covariance with b (times max(1, χ²/(n − k))): e moved by A z1, A = √var(e); b by B z1 + C z2, B = cov(e, b)/A, C = √(var(b) − B²), kept where it was sought: power 0.05 to 5, saturating L/50 to 50 L; curve = moved e × law at the time / law at L, both of the moved b; without a law c + curveUm z1',
  'D = max(0, curve + specimensUm z3 + measuringUm z4) × max(1, factor + standardUncertainty z5); ends: draws of rank N (1 − confidence) and N × confidence of N; more than chance: so does the draw nearer to the middle by 3 √(N × confidence (1 − confidence)) ranks, rounded; where N (1 − confidence) is below 100 nothing is bounded',
  'first order is enough where neither simulated end lies farther out by more than half of the last place of u(D) with one digit, u² = (factor × standardUncertaintyUm)² + (d × standardUncertainty of the factor)² (JCGM 101, 8.1)',
];
