import { z } from 'zod';
import { CalculationError } from '../base/errors.js';
import { finite, fraction, requireLimit } from '../statistics/inputs.js';
import { readSample, sampleFields } from '../statistics/sample.js';
import { estimatedNonconforming } from '../statistics/variables-sampling.js';
import { notesWhere, present } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  ...sampleFields,
  lower: finite('lower specification limit').optional(),
  upper: finite('upper specification limit').optional(),
  k: finite('acceptability constant (form 1): accept if each quality index is at least k').optional(),
  maximumNonconforming: fraction('largest acceptable estimated fraction nonconforming, M / 100 (form 2)').optional(),
});
type Input = z.infer<typeof input>;

export const variablesPlan: AnyCalculation = defineCalculation({
  name: 'variables-plan',
  purpose: 'Acceptance of a lot of bought-in items by a measured value, with the estimated fraction nonconforming',
  input,
  output: {
    qualityIndexLower: '(mean − lower) / sd',
    qualityIndexUpper: '(upper − mean) / sd',
    estimatedNonconforming: 'estimated fraction nonconforming: beyond lower, beyond upper, total (0 to 1)',
    accept: 'whether the lot passes by k, or by maximumNonconforming',
  },
  formula: [
    'Q_L = (mean − L)/sd; Q_U = (U − mean)/sd',
    'p = I_x(n/2 − 1, n/2 − 1), the regularised incomplete beta function, x = ½ − Q √n / (2 (n − 1)), kept within 0 and 1',
    'total = p_L + p_U; form 1 (k): accept if Q ≥ k; form 2 (M): accept if total ≤ M',
  ].join('\n'),
  source: 'MIL-STD-414 (1957), section B, variability unknown, standard deviation method',
  example: {
    input: { values: [197, 188, 184, 205, 201], lower: 180, upper: 209, maximumNonconforming: 0.0332 },
    source:
      'MIL-STD-414, example B-3: Q 1.59 and 1.70, estimates 2.19 % and 0.66 % (from Q to two decimals), M = 3.32 %: accept',
    steps: [
      'mean = 975 / 5 = 195; sd = √((190435 − 975²/5) / 4) = √77.5 = 8.803408',
      'Q_U = 14 / 8.803408 = 1.590293; Q_L = 15 / 8.803408 = 1.703886',
      'x_U = ½ − 1.590293 × 2.236068 / 8 = 0.055500; x_L = ½ − 1.703886 × 2.236068 / 8 = 0.023750',
      'I_x(1.5, 1.5) = (2/π)(arcsin √x − (1 − 2x) √(x (1 − x))): 0.0218231 at x_U, 0.0061690 at x_L',
      'total = 0.0279921 ≤ 0.0332: accept',
    ],
  },
  compute(given: Input) {
    requireLimit(given);
    const { lower, upper, k, maximumNonconforming } = given;
    if (k !== undefined && maximumNonconforming !== undefined) {
      throw new CalculationError('k', 'give either k or maximumNonconforming');
    }
    const { n, mean, sd } = readSample(given);
    if (n < 3) throw new CalculationError(given.values ? 'values' : 'n', 'the estimate needs at least 3 values');
    const indexLower = lower === undefined ? undefined : (mean - lower) / sd;
    const indexUpper = upper === undefined ? undefined : (upper - mean) / sd;
    const beyondLower = indexLower === undefined ? undefined : estimatedNonconforming(indexLower, n);
    const beyondUpper = indexUpper === undefined ? undefined : estimatedNonconforming(indexUpper, n);
    const total = (beyondLower ?? 0) + (beyondUpper ?? 0);
    const both = lower !== undefined && upper !== undefined;
    return {
      ...present({ qualityIndexLower: indexLower, qualityIndexUpper: indexUpper }),
      estimatedNonconforming: { ...present({ lower: beyondLower, upper: beyondUpper }), total },
      ...present({ accept: verdict(given, [indexLower, indexUpper], total) }),
      method: 'standard deviation method; minimum-variance unbiased estimate of the fraction nonconforming',
      source: 'MIL-STD-414 (1957), section B',
      notes: notesWhere(
        [true, 'assumes a normal characteristic; for bought-in items'],
        [k === undefined && maximumNonconforming === undefined, 'accept needs k or maximumNonconforming: absent'],
        [k !== undefined && both, 'k is applied to each limit by itself; for both together use maximumNonconforming'],
      ),
    };
  },
});

function verdict(
  { k, maximumNonconforming }: Input,
  indices: ReadonlyArray<number | undefined>,
  total: number,
): boolean | undefined {
  if (k !== undefined) return indices.every((index) => index === undefined || index >= k);
  return maximumNonconforming === undefined ? undefined : total <= maximumNonconforming;
}
