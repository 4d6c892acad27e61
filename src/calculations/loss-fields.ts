import { z } from 'zod';
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
