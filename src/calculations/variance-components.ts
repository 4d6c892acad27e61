import { z } from 'zod';
import { groups } from '../statistics/inputs.js';
import { varianceComponents as computeVarianceComponents } from '../statistics/variance-components.js';
import { notesWhere } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const METHODS = ['anova', 'reml', 'ml'] as const;

const input = z.strictObject({
  groups: groups('the values of each group (lot, batch); sizes may differ, at least one group with two values', 2),
  method: z
    .enum(METHODS, `must be one of ${METHODS.join(', ')}`)
    .describe('anova: mean squares; reml: restricted likelihood; ml: full likelihood'),
});

export const varianceComponents: AnyCalculation = defineCalculation({
  name: 'variance-components',
  purpose: 'How the spread divides into that between and that within groups such as lots',
  input,
  output: {
    grandMean: 'anova: mean of all values; reml, ml: group means weighted with their precision',
    between: 'variance between groups; with anova a negative estimate is given as it is',
    within: 'variance within groups',
    intraclassCorrelation: 'between / (between + within)',
    minusTwoLogLikelihood: '−2 ln of the maximised (restricted) likelihood; reml and ml only',
  },
  formula: [
    'anova: within = MS_within; between = (MS_between − MS_within)/n0, n0 = (N − Σ n_i²/N)/(k − 1)',
    'reml, ml: q = between/within ≥ 0, w_i = n_i/(1 + n_i q), m = Σ w_i m_i / Σ w_i, Q = SS_within + Σ w_i (m_i − m)²',
    'ml: minimise N(ln(2πQ/N) + 1) + Σ ln(1 + n_i q) over q; within = Q/N; between = q × within',
    'reml: minimise (N − 1)(ln(2πQ/(N − 1)) + 1) + Σ ln(1 + n_i q) + ln Σ w_i; within = Q/(N − 1); between = q × within',
    'equal sizes n, MS_between > MS_within: reml equals anova; ml has between = (SS_between/k − MS_within)/n where positive',
    'm_i, n_i mean and size of group i, k groups, N values, mean squares of the one-way analysis of variance',
  ].join('\n'),
  source: 'Searle, Casella and McCulloch, Variance Components (1992), chapters 3 and 6',
  example: {
    input: {
      groups: [
        [1545, 1440, 1440, 1520, 1580],
        [1540, 1555, 1490, 1560, 1495],
        [1595, 1550, 1605, 1510, 1560],
        [1445, 1440, 1595, 1465, 1545],
        [1595, 1630, 1515, 1635, 1625],
        [1520, 1455, 1450, 1480, 1445],
      ],
      method: 'reml',
    },
    source:
      'dyestuff yields, Davies and Goldsmith, Statistical Methods in Research and Production: 1764.05 and 2451.25, criterion 319.654',
    steps: [
      'group means 1505, 1528, 1564, 1498, 1600, 1470; mean 1527.5; equal sizes 5, so reml equals anova',
      'MS_between = 5 × 11271.5 / 5 = 11271.5 (df 5); MS_within = 58830/24 = 2451.25',
      'between = (11271.5 − 2451.25)/5 = 1764.05; within = 2451.25',
      'intraclassCorrelation = 1764.05/4215.30 = 0.418487',
      'q = 0.719653; w = 5/(1 + 3.598266) = 1.087366; Q = 58830 + 1.087366 × 11271.5 = 71086.25 = 29 × 2451.25',
      'minusTwoLogLikelihood = 29 (ln(2π × 2451.25) + 1) + 6 ln 4.598266 + ln(6 × 1.087366) = 308.6247 + 9.1541 + 1.8755 = 319.6543',
    ],
  },
  compute({ groups: lists, method }: z.infer<typeof input>) {
    const result = computeVarianceComponents(lists, method);
    return {
      ...result,
      method: {
        anova: 'mean squares of the one-way analysis of variance, group sizes averaged',
        reml: 'restricted maximum likelihood, between variance not below 0',
        ml: 'maximum likelihood, between variance not below 0',
      }[method],
      source: 'Searle, Casella and McCulloch, Variance Components (1992)',
      notes: notesWhere(
        [result.between < 0, 'between is negative: no difference between groups is seen beyond the spread within them'],
        [
          result.between === 0,
          'between lies at its edge 0: within is then the variance of all values, not the mean square within',
        ],
        [method === 'ml', 'full likelihood makes the between variance too small when groups are few'],
        [lists.length < 5, 'few groups: the between variance is poorly known'],
      ),
    };
  },
});
