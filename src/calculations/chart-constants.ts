import { z } from 'zod';
import { chartConstants as computeConstants } from '../statistics/chart-constants.js';
import { count } from '../statistics/inputs.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({ n: count('subgroup size', 2, 100) });

export const chartConstants: AnyCalculation = defineCalculation({
  name: 'chart-constants',
  purpose: 'The control-chart constants of a subgroup size, exact rather than as printed in tables',
  input,
  output: {
    d2: 'mean of the range of n standard normal values',
    d3: 'standard deviation of that range',
    c4: 'mean of the standard deviation (divisor n − 1) of n standard normal values',
    A2: 'limits of means from the mean range',
    A3: 'limits of means from the mean standard deviation',
    B3: 'lower limit of standard deviations from their mean',
    B4: 'upper limit of standard deviations from their mean',
    B5: 'lower limit of standard deviations from sigma',
    B6: 'upper limit of standard deviations from sigma',
    D1: 'lower limit of ranges from sigma',
    D2: 'upper limit of ranges from sigma',
    D3: 'lower limit of ranges from their mean',
    D4: 'upper limit of ranges from their mean',
    E2: 'limits of single values from the mean range',
  },
  formula: [
    'd2 = ∫ (1 − Φ(x)^n − (1 − Φ(x))^n) dx over all x',
    'd3 = √(E(W²) − d2²), E(W²) = ∫ 2 w (1 − F(w)) dw from 0, F(w) = n ∫ φ(x) (Φ(x + w) − Φ(x))^(n−1) dx',
    'c4 = √(2/(n − 1)) Γ(n/2) / Γ((n − 1)/2)',
    'A2 = 3/(d2 √n); A3 = 3/(c4 √n); E2 = 3/d2',
    'B3, B4 = 1 ∓ 3 √(1 − c4²)/c4; B5, B6 = c4 ∓ 3 √(1 − c4²); D1, D2 = d2 ∓ 3 d3; D3, D4 = 1 ∓ 3 d3/d2',
    'lower limits (B3, B5, D1, D3) are 0 where the formula is negative',
  ].join('\n'),
  source: 'ASTM Manual on Presentation of Data and Control Chart Analysis; Montgomery, appendix VI',
  example: {
    input: { n: 2 },
    source: 'closed forms for n = 2: d2 = 2/√π, d3 = √(2 − 4/π), c4 = √(2/π)',
    steps: [
      'd2 = 2/√π = 1.128379; d3 = √(2 − 1.273240) = 0.852502; c4 = √(2/π) = 0.797885',
      'A2 = 3 / (1.128379 × 1.414214) = 1.879971; A3 = 3 / (0.797885 × 1.414214) = 2.658681; E2 = 3 / 1.128379 = 2.658681',
      '√(1 − c4²) = 0.602810; B4 = 1 + 3 × 0.602810 / 0.797885 = 3.266532; B6 = 0.797885 + 1.808431 = 2.606315',
      'D2 = 1.128379 + 2.557507 = 3.685887; D4 = 1 + 2.557507 / 1.128379 = 3.266532',
      'B3, B5, D1 and D3 come out negative and are 0',
    ],
  },
  compute({ n }: z.infer<typeof input>) {
    return {
      ...computeConstants(n),
      method: 'moments of the range by numerical integration, c4 by gamma functions; limits at three sigma',
      source: 'ASTM Manual on Presentation of Data and Control Chart Analysis (definitions)',
      notes: ['printed tables may differ in the last digit: D3 and D4 there were computed from rounded d2 and d3'],
    };
  },
});
