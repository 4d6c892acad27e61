import { z } from 'zod';
import { ewmaChart } from '../statistics/ewma-chart.js';
import { finite, positive, values } from '../statistics/inputs.js';
import { beyondLimits } from '../statistics/signals.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  values: values('the measured values, in time order'),
  target: finite('target, and starting value of the average'),
  sigma: positive('standard deviation of single values'),
  lambda: z
    .number()
    .gt(0, 'must be greater than 0')
    .max(1, 'must be at most 1')
    .describe('weight of the newest value, above 0 and at most 1'),
  width: positive('half-width of the limits, in standard deviations of the plotted point'),
  limits: z.enum(['steady', 'exact']).describe('steady: limits after many points; exact: those of each point'),
});

export const ewma: AnyCalculation = defineCalculation({
  name: 'ewma',
  purpose: 'An exponentially weighted moving average with its limits: small lasting shifts show earlier',
  input,
  output: {
    points: 'the average after each value',
    lower: 'lower limit of each point',
    upper: 'upper limit of each point',
    signals: 'points beyond their limits: index from 1 and rule',
  },
  formula: [
    'z_t = lambda x_t + (1 − lambda) z_(t−1), z_0 = target',
    'steady: target ∓ width sigma √(lambda / (2 − lambda))',
    'exact: target ∓ width sigma √(lambda / (2 − lambda) × (1 − (1 − lambda)^(2t)))',
  ].join('\n'),
  source: 'NIST/SEMATECH e-Handbook 6.3.2.4; Lucas and Saccucci, Technometrics 32 (1990)',
  example: {
    input: { values: [52, 47, 53, 49.3, 50.1], target: 50, sigma: 2.0539, lambda: 0.3, width: 3, limits: 'steady' },
    source:
      'NIST/SEMATECH e-Handbook 6.3.2.4, first five values: 50.60, 49.52, 50.56, 50.18, 50.16; limits 47.4115, 52.5884',
    steps: [
      '√(0.3 / 1.7) = 0.420084; reach 3 × 2.0539 × 0.420084 = 2.588432: limits 47.411568 and 52.588432',
      'z_1 = 0.3 × 52 + 0.7 × 50 = 50.6; z_2 = 0.3 × 47 + 0.7 × 50.6 = 49.52; z_3 = 0.3 × 53 + 0.7 × 49.52 = 50.564',
      'z_4 = 0.3 × 49.3 + 0.7 × 50.564 = 50.1848; z_5 = 0.3 × 50.1 + 0.7 × 50.1848 = 50.15936; none lies beyond',
    ],
  },
  compute({ values: list, ...design }: z.infer<typeof input>) {
    const chart = ewmaChart(list, design);
    return {
      ...chart,
      signals: beyondLimits(chart.points, chart.lower, chart.upper),
      method: `exponentially weighted moving average from the target, ${design.limits} limits`,
      source: 'NIST/SEMATECH e-Handbook 6.3.2.4',
      notes: ['run-length gives how often such a chart signals without cause'],
    };
  },
});
