import { CalculationError } from '../base/errors.js';
import { count, finite, LARGEST_SAMPLE, positive, requireSpread, values } from './inputs.js';
import { moments } from './summary.js';

/** What the normal-theory calculations need of a sample. */
export interface Sample {
  readonly n: number;
  readonly mean: number;
  readonly sd: number;
}

/** Input fields of a calculation that takes either the values or their mean, standard deviation and number. */
export const sampleFields = {
  values: values('the measured values, in time order; or give mean, sd and n instead', 2).optional(),
  mean: finite('sample mean, instead of values').optional(),
  sd: positive('sample standard deviation (divisor n − 1), instead of values').optional(),
  n: count('number of values behind mean and sd', 2, LARGEST_SAMPLE).optional(),
};

interface SampleInput {
  readonly values?: readonly number[] | undefined;
  readonly mean?: number | undefined;
  readonly sd?: number | undefined;
  readonly n?: number | undefined;
}

/**
 * Mean, standard deviation and number, from the values where they are given.
 * @throws CalculationError when both forms or neither are given, when the values do not differ, or when they are more
 * than the bounds are computed for.
 */
export function readSample(input: SampleInput): Sample {
  const { values: list, mean, sd, n } = input;
  if (list === undefined) {
    if (mean === undefined && sd === undefined && n === undefined) {
      throw new CalculationError('values', 'give either values, or mean, sd and n');
    }
    if (mean === undefined) throw new CalculationError('mean', 'is needed beside sd and n when no values are given');
    if (sd === undefined) throw new CalculationError('sd', 'is needed beside mean and n when no values are given');
    if (n === undefined) throw new CalculationError('n', 'is needed beside mean and sd when no values are given');
    return { n, mean, sd };
  }
  for (const field of ['mean', 'sd', 'n'] as const) {
    if (input[field] !== undefined) {
      throw new CalculationError(field, 'is computed from the values: give either values, or mean, sd and n');
    }
  }
  if (list.length > LARGEST_SAMPLE) {
    throw new CalculationError('values', `are more than the ${LARGEST_SAMPLE} this is computed for`);
  }
  const sample = moments(list);
  requireSpread(sample.sd, 'values');
  return { n: sample.n, mean: sample.mean, sd: sample.sd };
}
