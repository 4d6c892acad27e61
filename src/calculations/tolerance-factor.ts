import { z } from 'zod';
import { count, LARGEST_SAMPLE } from '../statistics/inputs.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';
import {
  toleranceFactorOf,
  toleranceFields,
  toleranceFormula,
  toleranceMethodText,
  toleranceSource,
} from './tolerance-fields.js';

const input = z.strictObject({
  n: count('number of values', 2, LARGEST_SAMPLE),
  ...toleranceFields,
});

export const toleranceFactor: AnyCalculation = defineCalculation({
  name: 'tolerance-factor',
  purpose: 'By how many standard deviations a limit must stand off the mean to hold a share of a normal population',
  input,
  output: { k: 'the factor: mean ± k sd' },
  formula: toleranceFormula,
  source: toleranceSource,
  example: {
    input: { n: 43, content: 0.9, confidence: 0.99, sides: 2, method: 'howe' },
    source: 'NIST/SEMATECH e-Handbook 7.2.6.3: k = 2.2173159 (the exact factor is 2.2228252)',
    steps: [
      'z((1 + 0.90)/2) = z(0.95) = 1.6448536',
      'χ²(0.01; 42) = 23.650095',
      'k = 1.6448536 √(42 (1 + 1/43) / 23.650095) = 1.6448536 √1.817183 = 2.2173159',
    ],
  },
  compute(given: z.infer<typeof input>) {
    return {
      k: toleranceFactorOf(given, given.n),
      method: toleranceMethodText(given),
      source: toleranceSource,
      notes: ['assumes a normal population'],
    };
  },
});
