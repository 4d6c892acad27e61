import { z } from 'zod';
import { readSample, sampleFields } from '../statistics/sample.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';
import {
  toleranceFactorOf,
  toleranceFields,
  toleranceFormula,
  toleranceMethodText,
  toleranceSource,
} from './tolerance-fields.js';

const input = z.strictObject({ ...sampleFields, ...toleranceFields });

export const toleranceInterval: AnyCalculation = defineCalculation({
  name: 'tolerance-interval',
  purpose: 'Limits that hold a share of a normal population with a stated confidence',
  input,
  output: {
    k: 'the tolerance factor',
    lower: 'mean − k sd (sides 1: the one-sided lower limit)',
    upper: 'mean + k sd (sides 1: the one-sided upper limit)',
  },
  formula: `lower = mean − k sd; upper = mean + k sd\n${toleranceFormula}`,
  source: toleranceSource,
  example: {
    input: { mean: 97.07, sd: 0.0268, n: 43, content: 0.9, confidence: 0.99, sides: 2, method: 'howe' },
    source: 'NIST/SEMATECH e-Handbook 7.2.6.3: 97.010576 and 97.12942',
    steps: [
      'k = z(0.95) √(42 (1 + 1/43) / χ²(0.01; 42)) = 1.6448536 √(42 × 1.0232558 / 23.650095) = 2.2173159',
      'lower = 97.07 − 2.2173159 × 0.0268 = 97.010576',
      'upper = 97.07 + 2.2173159 × 0.0268 = 97.129424',
    ],
  },
  compute(given: z.infer<typeof input>) {
    const { n, mean, sd } = readSample(given);
    const k = toleranceFactorOf(given, n);
    return {
      k,
      lower: mean - k * sd,
      upper: mean + k * sd,
      method: toleranceMethodText(given),
      source: toleranceSource,
      notes: [
        'assumes a normal population',
        given.sides === 1
          ? 'lower and upper are two separate one-sided statements; together they hold less than the content'
          : 'the interval holds the content with the confidence, not each tail its half',
      ],
    };
  },
});
