import { z } from 'zod';
import { values } from '../statistics/inputs.js';
import { lagOneAutocorrelation, median, moments } from '../statistics/summary.js';
import { notesWhere, present } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  values: values('the measured values, in time order', 2),
});

export const summary: AnyCalculation = defineCalculation({
  name: 'summary',
  purpose: 'How many values, where they lie, how far they spread, and whether neighbours resemble each other',
  input,
  output: {
    n: 'number of values',
    mean: 'arithmetic mean, in the unit of the values',
    sd: 'standard deviation with divisor n − 1, in the unit of the values',
    median: 'middle value, or the mean of the two middle ones',
    min: 'smallest value',
    max: 'largest value',
    lag1Autocorrelation: 'correlation of each value with the next, −1 to 1; absent when the values do not differ',
  },
  formula: [
    'mean m = Σ x / n',
    'sd = √( Σ (x − m)² / (n − 1) )',
    'median = middle value of the sorted list; with an even n the mean of the two middle ones',
    'lag1Autocorrelation = Σ (x_t − m)(x_(t+1) − m) over t = 1 … n − 1, divided by Σ (x_t − m)² over t = 1 … n',
  ].join('\n'),
  source: 'NIST Statistical Reference Datasets (StRD), univariate summary statistics: definitions and certified values',
  example: {
    input: { values: ['10000001', '10000003', '10000002'] },
    source: 'NIST StRD, data set NumAcc1: mean 10000002, standard deviation 1, autocorrelation −0.5',
    steps: [
      'm = (10000001 + 10000003 + 10000002) / 3 = 30000006 / 3 = 10000002',
      'deviations −1, 1, 0; their squares 1, 1, 0 sum to 2',
      'sd = √(2 / (3 − 1)) = 1',
      'sorted 10000001, 10000002, 10000003: median 10000002, min 10000001, max 10000003',
      'lag1Autocorrelation = ((−1)(1) + (1)(0)) / 2 = −0.5',
    ],
  },
  compute({ values: list }: z.infer<typeof input>) {
    const { n, mean, sd, min, max } = moments(list);
    const varied = sd > 0;
    return {
      n,
      mean,
      sd,
      median: median(list),
      min,
      max,
      ...present({ lag1Autocorrelation: varied ? lagOneAutocorrelation(list) : undefined }),
      method: 'two passes with compensated block sums; the second pass corrects the rounding of the mean',
      source: 'NIST StRD, univariate summary statistics',
      notes: notesWhere([!varied, 'lag1Autocorrelation does not exist: the values do not differ']),
    };
  },
});
