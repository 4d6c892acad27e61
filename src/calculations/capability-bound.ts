import { z } from 'zod';
import { CalculationError } from '../base/errors.js';
import { bissellLowerBound, exactLowerBound, ppInterval } from '../statistics/capability-bounds.js';
import { count, finite, LARGEST_SAMPLE, probability } from '../statistics/inputs.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  estimate: finite('the estimated index (Ppk, Ppu or Ppl; or Pp)'),
  n: count('number of values behind the estimate', 2, LARGEST_SAMPLE),
  confidence: probability('confidence of the bound or interval'),
  index: z.enum(['ppk', 'pp']).describe('ppk for a one-sided lower bound, pp for a two-sided interval'),
});

export const capabilityBound: AnyCalculation = defineCalculation({
  name: 'capability-bound',
  purpose: 'The confidence bound of a capability index that is already known',
  input,
  output: {
    exactLower: 'ppk: one-sided lower confidence bound by the noncentral t',
    approximateLower: 'ppk: the same by Bissell’s approximation, which promises too much at small n',
    twoSided: 'pp: lower and upper end of the two-sided interval by chi-square',
  },
  formula: [
    'exactLower = C with P(T ≤ 3 √n estimate) = confidence, T noncentral t, n − 1 degrees of freedom,',
    '  noncentrality 3 √n C. By hand: start from approximateLower, then try values of C with',
    '  P(T ≤ t) = ∫ Φ(t s − 3 √n C) f(s) ds, f the density of √(χ²/(n − 1)), until P is the confidence.',
    'approximateLower = estimate − z √(1/(9n) + estimate²/(2(n − 1))), z the normal quantile of confidence',
    'twoSided = estimate √(χ²(p; n − 1)/(n − 1)) at p = (1 − confidence)/2 and (1 + confidence)/2',
  ].join('\n'),
  source:
    'Chou, Owen and Borrego, J. Quality Technology 22 (1990); Kushler and Hurley, ibid. 24 (1992); ' +
    'Bissell, Applied Statistics 39 (1990); Montgomery, Introduction to Statistical Quality Control (pp)',
  example: {
    input: { estimate: 1.33, n: 20, confidence: 0.95, index: 'ppk' },
    source: 'computed by the definition; the reference value 0.9486845281 was recomputed with mpmath',
    steps: [
      't = 3 √20 × 1.33 = 17.8437',
      'z = 1.644854; approximateLower = 1.33 − 1.644854 √(1/180 + 1.7689/38) = 1.33 − 1.644854 × 0.228266 = 0.954535',
      'the noncentrality with P(T(19) ≤ 17.8437) = 0.95 is 12.7279',
      'exactLower = 12.7279 / (3 √20) = 0.948685',
    ],
  },
  compute({ estimate, n, confidence, index }: z.infer<typeof input>) {
    if (index === 'pp') {
      if (estimate <= 0) throw new CalculationError('estimate', 'must be greater than 0 for pp');
      return {
        twoSided: ppInterval(estimate, n, confidence),
        method: 'two-sided chi-square interval, exact for a normal characteristic',
        source: 'Montgomery, Introduction to Statistical Quality Control, chapter on process capability',
        notes: ['assumes a normal characteristic'],
      };
    }
    return {
      exactLower: exactLowerBound(estimate, n, confidence),
      approximateLower: bissellLowerBound(estimate, n, confidence),
      method: 'exactLower by the noncentral t, integrated numerically; approximateLower by Bissell',
      source: 'Chou, Owen and Borrego (1990); Bissell (1990)',
      notes: [
        'assumes a normal characteristic',
        'exactLower is exact for a one-sided index and conservative for a two-sided Ppk',
        'approximateLower lies above the exact bound in most cases: it is for comparison, not for a decision',
      ],
    };
  },
});
