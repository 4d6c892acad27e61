import { z } from 'zod';
import { cusumChart } from '../statistics/cusum-chart.js';
import { finite, nonNegative, positive, values } from '../statistics/inputs.js';
import { beyondLimits, inOrder } from '../statistics/signals.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  values: values('the measured values, in time order'),
  target: finite('target'),
  k: nonNegative('allowance, in the unit of the values: usually half the shift to be found'),
  h: positive('decision interval, in the unit of the values'),
});

export const cusum: AnyCalculation = defineCalculation({
  name: 'cusum',
  purpose: 'Cumulative sums of deviations from a target: small lasting shifts, and when they began',
  input,
  output: {
    high: 'upper sum after each value',
    low: 'lower sum after each value',
    highRun: 'points since the upper sum was last 0',
    lowRun: 'points since the lower sum was last 0',
    signals: 'points where a sum is above h: index from 1 and rule',
  },
  formula: [
    'high_t = max(0, high_(t−1) + x_t − target − k); low_t = max(0, low_(t−1) + target − k − x_t); both start at 0',
    'a signal where high_t > h or low_t > h; the sums are not set back after a signal',
    'run_t = run_(t−1) + 1 while the sum is above 0, else 0: the shift began about run points before',
  ].join('\n'),
  source: 'NIST/SEMATECH e-Handbook 6.3.2.3; Montgomery, Introduction to Statistical Quality Control (runs)',
  example: {
    input: { values: [325.15, 328.325, 327.25, 327.825], target: 325, k: 0.3175, h: 4.1959 },
    source: 'values 12 to 15 of NIST/SEMATECH e-Handbook 6.3.2.3, sums from 0: 3.01, 4.94, 7.45 there as here',
    steps: [
      'high: max(0, 0.15 − 0.3175) = 0; 0 + 3.325 − 0.3175 = 3.0075; + 2.25 − 0.3175 = 4.94; + 2.825 − 0.3175 = 7.4475',
      'low: max(0, −0.15 − 0.3175) = 0 and so on: always 0',
      'highRun 0, 1, 2, 3; sums above 4.1959 at points 3 and 4',
    ],
  },
  compute({ values: list, target, k, h }: z.infer<typeof input>) {
    const chart = cusumChart(list, target, k);
    return {
      ...chart,
      signals: inOrder([...beyondLimits(chart.high, 0, h), ...beyondLimits(chart.low, 0, h)]),
      method: 'tabular cumulative sums, two-sided, started at 0, not set back after a signal',
      source: 'NIST/SEMATECH e-Handbook 6.3.2.3',
      notes: ['run-length, with k and h divided by sigma, gives how often such a chart signals without cause'],
    };
  },
});
