import { z } from 'zod';
import { finite, nonNegative, positive, sides } from '../statistics/inputs.js';
import { RULES_WITH_RUN_LENGTH, ruleRunLength } from '../statistics/rule-run-length.js';
import { cusumRunLength, ewmaRunLength, shewhartRunLength } from '../statistics/run-length.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const shift = finite('how far the mean is off the centre or target, in sigma');

const input = z.discriminatedUnion(
  'chart',
  [
    z.strictObject({
      chart: z.literal('shewhart').describe('points against limits at a distance'),
      width: positive('distance of the limits from the centre, in sigma'),
      shift,
    }),
    z.strictObject({
      chart: z.literal('ewma').describe('exponentially weighted moving average, steady limits'),
      lambda: z
        .number()
        .gt(0, 'must be greater than 0')
        .max(1, 'must be at most 1')
        .describe('weight of the newest value, above 0 and at most 1'),
      width: positive('half-width of the limits, in standard deviations of the plotted point'),
      shift,
    }),
    z.strictObject({
      chart: z.literal('cusum').describe('cumulative sums'),
      k: nonNegative('allowance, in sigma'),
      h: positive('decision interval, in sigma'),
      sides: sides('1: upwards only; 2: both').default(2),
      shift,
    }),
    z.strictObject({
      chart: z.literal('shewhart-with-rules').describe('three-sigma limits and run rules'),
      rules: z
        .array(z.enum(RULES_WITH_RUN_LENGTH))
        .min(1, 'name at least one rule')
        .describe(`the rules that signal: ${RULES_WITH_RUN_LENGTH.join(', ')}`),
      shift,
    }),
  ],
  { error: 'must be shewhart, ewma, cusum or shewhart-with-rules' },
);
type Input = z.infer<typeof input>;

export const runLength: AnyCalculation = defineCalculation({
  name: 'run-length',
  purpose: 'How many points a chart shows on average until it signals, with or without a shift',
  input,
  output: { averageRunLength: 'mean number of points up to and including the first signal, from a fresh start' },
  formula: [
    'shewhart: 1 / (Φ(−width + shift) + Φ(−width − shift))',
    'ewma: c = width √(lambda/(2 − lambda)); L(u) = 1 + ∫ L(v) φ((v − (1 − lambda) u)/lambda − shift) dv/lambda, v from −c to c;',
    '  averageRunLength = L(0)',
    'cusum, one side: L(u) = 1 + L(0) Φ(k − u − shift) + ∫ L(v) φ(v − u + k − shift) dv, v from 0 to h; L(0);',
    '  two sides: 1/L = 1/L(shift) + 1/L(−shift)',
    '  by hand: replace the integral by a sum over Gauss–Legendre nodes and solve the linear equations',
    'shewhart-with-rules: states = what the rules remember of the last points; zone probabilities from Φ at −3 … 3 − shift;',
    '  L = 1 + Σ P(next state) L(next state) over states without a signal; L of the fresh start',
  ].join('\n'),
  source:
    'NIST/SEMATECH e-Handbook 6.3.2.3; Crowder, Technometrics 29 (1987); Page, Biometrika 41 (1954) and Lucas and Crosier, ' +
    'Technometrics 24 (1982); Champ and Woodall, Technometrics 29 (1987)',
  example: {
    input: { chart: 'shewhart', width: 3, shift: 1 },
    source: 'NIST/SEMATECH e-Handbook 6.3.2.3, comparison column: 44.0',
    steps: [
      'Φ(−3 + 1) = Φ(−2) = 0.0227501; Φ(−3 − 1) = Φ(−4) = 0.0000317',
      'averageRunLength = 1 / 0.0227818 = 43.8947',
    ],
  },
  compute(given: Input) {
    return {
      averageRunLength: averageRunLength(given),
      method: METHODS[given.chart],
      source: SOURCES[given.chart],
      notes: [
        'independent normal points with the standard deviation known; zero state: the chart has just been started',
        ...(given.chart === 'cusum' && given.sides === 1 ? ['one side only: two sides signal twice as often'] : []),
      ],
    };
  },
});

const METHODS: Readonly<Record<Input['chart'], string>> = {
  shewhart: 'closed form',
  ewma: 'integral equation on Gauss–Legendre nodes, steady limits',
  cusum: 'integral equation on Gauss–Legendre nodes',
  'shewhart-with-rules': 'exact Markov chain over what the rules remember',
};

const SOURCES: Readonly<Record<Input['chart'], string>> = {
  shewhart: 'NIST/SEMATECH e-Handbook 6.3.2.3',
  ewma: 'Crowder, Technometrics 29 (1987)',
  cusum: 'Page, Biometrika 41 (1954); Lucas and Crosier, Technometrics 24 (1982)',
  'shewhart-with-rules': 'Champ and Woodall, Technometrics 29 (1987)',
};

function averageRunLength(given: Input): number {
  switch (given.chart) {
    case 'shewhart':
      return shewhartRunLength(given.width, given.shift);
    case 'ewma':
      return ewmaRunLength(given.lambda, given.width, given.shift);
    case 'cusum':
      return cusumRunLength(given.k, given.h, given.shift, given.sides);
    case 'shewhart-with-rules':
      return ruleRunLength(given.rules, given.shift);
  }
}
