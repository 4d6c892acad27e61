import { z } from 'zod';
import { bartlett, levene } from '../statistics/equal-variance.js';
import { groups } from '../statistics/inputs.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({ groups: groups('the values of each group; groups may differ in size', 2, 2) });

export const equalVariance: AnyCalculation = defineCalculation({
  name: 'equal-variance',
  purpose: 'Whether groups differ in their spread (Bartlett; Levene about the median)',
  input,
  output: {
    bartlett: 'statistic and p (chi-square, groups − 1 degrees of freedom); sensitive to values that are not normal',
    levene:
      'statistic and p (F, groups − 1 and values − groups degrees of freedom); absent when every group has two values',
  },
  formula: [
    'bartlett: s_p² = Σ (n_i − 1)s_i² / (N − k); T = [(N − k) ln s_p² − Σ (n_i − 1) ln s_i²] / C,',
    '    C = 1 + (Σ 1/(n_i − 1) − 1/(N − k)) / (3(k − 1)); p = P(χ²(k − 1) > T)',
    'levene: z = |x − median of its group|; statistic = F of the one-way analysis of variance of z;',
    '    p = P(F(k − 1, N − k) > statistic)',
    'k groups of n_i values, N values in all, s_i² with divisor n_i − 1',
  ].join('\n'),
  source: 'NIST/SEMATECH e-Handbook 1.3.5.7 (Bartlett) and 1.3.5.10 (Levene, about the median: Brown and Forsythe)',
  example: {
    input: {
      groups: [
        [1, 2, 3, 4, 5],
        [2, 4, 6, 8, 10],
        [1, 1, 2, 3, 3],
      ],
    },
    source: 'worked by hand',
    steps: [
      'variances 2.5, 10, 1; N = 15, k = 3; s_p² = 4 × 13.5 / 12 = 4.5',
      'C = 1 + (3 × 0.25 − 1/12) / 6 = 1.111111; T = 12 ln 4.5 − 4 (ln 2.5 + ln 10 + ln 1) = 18.048929 − 12.875503 = 5.173426; / C = 4.656083',
      'p = P(χ²(2) > 4.656083) = exp(−4.656083/2) = 0.097486',
      'distances from the medians 3, 6, 2: (2 1 0 1 2), (4 2 0 2 4), (1 1 0 1 1); means 1.2, 2.4, 0.8; squares between 6.933333, within 2.8 + 11.2 + 0.8 = 14.8',
      'statistic = (6.933333/2) / (14.8/12) = 2.810811; p = P(F(2, 12) > 2.810811) = (1 + 2 × 2.810811/12)^−6 = 0.099727',
    ],
  },
  compute({ groups: lists }: z.infer<typeof input>) {
    const onlyPairs = lists.every(({ length }) => length === 2);
    return {
      bartlett: bartlett(lists),
      ...(!onlyPairs && { levene: levene(lists) }),
      method: 'Bartlett; Levene with distances from the median',
      source: 'NIST/SEMATECH e-Handbook 1.3.5.7 and 1.3.5.10',
      notes: [
        'Bartlett’s test also answers to values that are not normal; Levene’s about the median hardly does',
        ...(onlyPairs ? ['levene is absent: in groups of two both values lie equally far from the median'] : []),
      ],
    };
  },
});
