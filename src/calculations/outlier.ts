import { z } from 'zod';
import { count, probability, sides, values } from '../statistics/inputs.js';
import { findOutliers } from '../statistics/outliers.js';
import { notesWhere } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  values: values('the measured values', 3),
  alpha: probability('significance level, such as 0.05'),
  sides: sides('1: the suspect side was named before the data were seen; 2: an outlier may lie on either side'),
  maximum: count(
    'largest number of outliers looked for; 1 is Grubbs’ test, more the generalised ESD procedure',
    1,
    100,
  ).default(1),
});

export const outlier: AnyCalculation = defineCalculation({
  name: 'outlier',
  purpose: 'Whether values lie farther out than a normal sample explains (Grubbs; generalised ESD)',
  input,
  output: {
    statistics: 'R_i, largest distance from the mean over sd, after i − 1 removals',
    criticals: 'critical value of each R_i',
    outlierIndexes: 'places of the outliers in the values as given, from 1, in the order of removal',
  },
  formula: [
    'i = 1, 2, … maximum: R_i = max |x − mean| / sd of the values left; the value that gives it is taken out',
    'critical λ_i = (m − 1) t / √(m (m − 2 + t²)), m = n − i + 1 values left, t the upper α/m point (sides 1) or',
    '    α/(2m) point (sides 2) of Student’s t with m − 2 degrees of freedom',
    'number of outliers = the largest i with R_i > λ_i, although earlier ones may lie below theirs',
  ].join('\n'),
  source: 'Grubbs, Technometrics 11 (1969); Rosner, Technometrics 25 (1983); NIST/SEMATECH e-Handbook 1.3.5.17',
  example: {
    input: { values: [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57], alpha: 0.05, sides: 1 },
    source: 'NIST/SEMATECH e-Handbook 1.3.5.17.1: G = 2.4687, critical value 2.032, 245.57 is an outlier',
    steps: [
      'n = 8, mean = 206.43375, sd = 15.85256; farthest value 245.57',
      'R_1 = (245.57 − 206.43375)/15.85256 = 2.46876',
      't = upper 0.05/8 = 0.00625 point with 6 degrees of freedom = 3.521223',
      'λ_1 = 7 × 3.521223 / √(8 × (6 + 3.521223²)) = 24.648559 / √147.192075 = 2.03165',
      '2.46876 > 2.03165: one outlier, the eighth value',
    ],
  },
  compute({ values: list, ...test }: z.infer<typeof input>) {
    return {
      ...findOutliers(list, test),
      method: test.maximum === 1 ? 'Grubbs’ test' : 'generalised extreme studentised deviate procedure',
      source: 'Grubbs (1969); Rosner (1983)',
      notes: notesWhere(
        [true, 'no test justifies leaving a value out: that needs an assignable cause, and both results are shown'],
        [true, 'assumes that the other values are normal'],
        [test.sides === 1, 'one-sided: the farthest value is tested, which must lie on the side named beforehand'],
        [test.maximum > 1 && list.length < 25, 'the ESD critical values are meant for 25 values and more'],
      ),
    };
  },
});
