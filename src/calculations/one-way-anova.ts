import { z } from 'zod';
import { CalculationError } from '../base/errors.js';
import { oneWayAnova as computeAnova } from '../statistics/anova.js';
import { groups } from '../statistics/inputs.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  groups: groups('the values of each group; groups may differ in size', 2),
});

export const oneWayAnova: AnyCalculation = defineCalculation({
  name: 'one-way-anova',
  purpose: 'Whether groups differ in their mean by more than the spread within them explains',
  input,
  output: {
    betweenDf: 'degrees of freedom between groups: groups − 1',
    withinDf: 'degrees of freedom within groups: values − groups',
    betweenSumSquares: 'Σ group size × (group mean − grand mean)²',
    withinSumSquares: 'Σ (value − its group mean)²',
    betweenMeanSquare: 'betweenSumSquares / betweenDf',
    withinMeanSquare: 'withinSumSquares / withinDf',
    f: 'betweenMeanSquare / withinMeanSquare',
    p: 'probability of an F as large or larger if all groups had the same mean',
    rSquared: 'betweenSumSquares / (betweenSumSquares + withinSumSquares)',
    residualSd: '√withinMeanSquare, in the unit of the values',
  },
  formula: [
    'm_i = mean of group i, m = mean of all values, n_i = size of group i, N = Σ n_i, g = number of groups',
    'betweenSumSquares = Σ n_i (m_i − m)²; withinSumSquares = ΣΣ (x_ij − m_i)²',
    'betweenDf = g − 1; withinDf = N − g; mean squares = sums of squares / degrees of freedom',
    'f = betweenMeanSquare / withinMeanSquare; p = P(F(betweenDf, withinDf) > f)',
    'rSquared = betweenSumSquares / (betweenSumSquares + withinSumSquares); residualSd = √withinMeanSquare',
  ].join('\n'),
  source: 'NIST Statistical Reference Datasets (StRD), analysis of variance',
  example: {
    input: {
      groups: [
        [196.3052, 196.124, 196.189, 196.2569, 196.3403],
        [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
        [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
        [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
        [196.2119, 196.1051, 196.185, 196.0052, 196.209],
      ],
    },
    source: 'NIST StRD, data set SiRstv: F = 1.18046237440255',
    steps: [
      'group means 196.24308, 196.2443, 196.16702, 196.14814, 196.14324; grand mean 196.189156',
      'betweenSumSquares = 5 × (0.053924² + 0.055144² + 0.022136² + 0.041016² + 0.045916²) = 0.0511462616',
      'withinSumSquares = 0.21663656; betweenDf = 4, withinDf = 25 − 5 = 20',
      'mean squares 0.0127865654 and 0.010831828; f = 1.180462; p = P(F(4, 20) > 1.180462) = 0.349447',
      'rSquared = 0.0511462616 / 0.2677828216 = 0.190999; residualSd = √0.010831828 = 0.104076',
    ],
  },
  compute({ groups: lists }: z.infer<typeof input>) {
    const values = lists.reduce((sum, list) => sum + list.length, 0);
    if (values <= lists.length) throw new CalculationError('groups', 'at least one group needs two values');
    const table = computeAnova(lists);
    if (!(table.withinSumSquares > 0)) {
      throw new CalculationError('groups', 'the values within the groups do not differ: the spread is zero');
    }
    return {
      ...table,
      method: 'one-way analysis of variance, compensated sums about the first value',
      source: 'NIST StRD, analysis of variance',
      notes: ['assumes independent normal values with one spread in all groups'],
    };
  },
});
