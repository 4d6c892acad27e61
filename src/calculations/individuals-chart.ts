import { z } from 'zod';
import { individualsChart as computeChart, movingRanges } from '../statistics/individuals-chart.js';
import { requireSpread, values } from '../statistics/inputs.js';
import { beyondLimits, inOrder, patternSignals } from '../statistics/signals.js';
import { notesWhere } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';
import { runRules, runRuleText } from './run-rules-field.js';

const input = z.strictObject({
  values: values('the measured values, in time order', 2),
  spanConstant: z
    .enum(['exact', 'table'])
    .describe('exact: d2 = 1.128379…, D4 = 3.266531…; table: the printed 1.128 and 3.267')
    .default('exact'),
  rules: runRules,
});

export const individualsChart: AnyCalculation = defineCalculation({
  name: 'individuals-chart',
  purpose: 'Centre and limits for single values in time order, and the points that ask for an explanation',
  input,
  output: {
    centre: 'mean of the values',
    meanMovingRange: 'mean of the differences between neighbours, without sign',
    sigma: 'short-term standard deviation: meanMovingRange / d2',
    lower: 'lower limit, centre − 3 sigma',
    upper: 'upper limit, centre + 3 sigma',
    rangeUpper: 'upper limit of the moving range, D4 × meanMovingRange (the lower one is 0)',
    signals: 'points beyond lower or upper, and the patterns asked for: index from 1 and rule',
  },
  formula: [
    'MR_i = |x_i − x_(i−1)|; meanMovingRange = Σ MR / (n − 1)',
    'sigma = meanMovingRange / d2; lower, upper = centre ∓ 3 sigma; rangeUpper = D4 meanMovingRange',
    'exact: d2 = 2/√π, D4 = 1 + 3 √(2 − 4/π)/d2; table: d2 = 1.128, D4 = 3.267',
    'patterns: the run rules on z = (x − centre) / sigma',
    runRuleText,
  ].join('\n'),
  source: 'NIST/SEMATECH e-Handbook 6.3.2.2',
  example: {
    input: { values: [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1], spanConstant: 'table' },
    source: 'NIST/SEMATECH e-Handbook 6.3.2.2: 50.81, 1.8778, limits 45.8159 and 55.8041',
    steps: [
      'centre = 508.1 / 10 = 50.81',
      'moving ranges 2.0, 2.3, 1.4, 3.5, 3.4, 1.4, 0.2, 1.2, 1.5 sum to 16.9; 16.9 / 9 = 1.8778',
      'sigma = 1.8778 / 1.128 = 1.66470',
      'lower = 50.81 − 3 × 1.66470 = 45.8159; upper = 50.81 + 3 × 1.66470 = 55.8041',
      'rangeUpper = 3.267 × 1.8778 = 6.1347; no value and no moving range lies beyond',
    ],
  },
  compute({ values: list, spanConstant, rules }: z.infer<typeof input>) {
    const chart = computeChart(list, spanConstant);
    requireSpread(chart.sigma, 'values');
    const beyond = beyondLimits(list, chart.lower, chart.upper);
    const wideSteps = beyondLimits(movingRanges(list), 0, chart.rangeUpper).map(({ index }) => index + 1);
    return {
      ...chart,
      signals: inOrder([...beyond, ...patternSignals(list, chart.centre, chart.sigma, rules ?? [])]),
      method: `individuals and moving ranges of two, ${spanConstant} constants, limits at three sigma`,
      source: 'NIST/SEMATECH e-Handbook 6.3.2.2',
      notes: notesWhere(
        [true, 'signals are those of the values; a single outlier makes two wide moving ranges'],
        [wideSteps.length > 0, `moving ranges beyond rangeUpper end at the values ${wideSteps.join(', ')}`],
        [wideSteps.length === 0, 'no moving range lies beyond rangeUpper'],
      ),
    };
  },
});
