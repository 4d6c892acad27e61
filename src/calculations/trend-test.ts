import { z } from 'zod';
import { probability, values } from '../statistics/inputs.js';
import { trendTest as computeTrendTest, MOST_VALUES } from '../statistics/trend-test.js';
import { notesWhere } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  values: values(`the values in order of time, at most ${MOST_VALUES}`, 3),
  x: values('their times, where they are not evenly spaced; any unit').optional(),
  confidence: probability('confidence of the limits of the slope').default(0.95),
});

export const trendTest: AnyCalculation = defineCalculation({
  name: 'trend-test',
  purpose: 'Whether values rise or fall with time, and how fast, without assuming a distribution',
  input,
  output: {
    s: 'pairs in which the later value is larger, less pairs in which it is smaller',
    variance: 'variance of s without a trend, corrected for ties',
    z: 'standardised s with continuity correction',
    p: 'two-sided p of z (normal)',
    exactP: 'two-sided exact p; up to ten values, without ties',
    slope: 'Theil–Sen slope: median of the slopes of all pairs',
    slopeLower: 'lower confidence limit of the slope, by rank',
    slopeUpper: 'upper confidence limit of the slope, by rank',
  },
  formula: [
    's = Σ sign(x_j − x_i) sign(y_j − y_i) over all pairs; x = 1, 2, 3, … where no times are given',
    'variance = [n(n − 1)(2n + 5) − Σ t(t − 1)(2t + 5)] / 18, t the sizes of the groups of equal values (with equal times',
    '    also − Σ u(u − 1)(2u + 5) in the bracket, + Σt(t−1)(t−2) Σu(u−1)(u−2) / (9n(n−1)(n−2)) + Σt(t−1) Σu(u−1) / (2n(n−1)))',
    'z = (s − 1)/√variance for s > 0, (s + 1)/√variance for s < 0, 0 for s = 0; p = 2Φ(−|z|)',
    'exactP = 2 P(S ≥ |s|), counted over all n! orders (1 for s = 0)',
    'slope = median of the N slopes (y_j − y_i)/(x_j − x_i); C = Φ⁻¹((1 + confidence)/2) √variance;',
    '    limits = slopes of rank (N − C)/2 and (N + C)/2 + 1 in ascending order, ranks rounded to whole numbers',
  ].join('\n'),
  source:
    'Mann (1945); Kendall, Rank Correlation Methods (1975); Sen, J. American Statistical Association 63 (1968); US EPA QA/G-9S (2006)',
  example: {
    input: { values: [9, 15, 19, 20, 45, 55, 78], x: [1, 2, 3, 4, 10, 12, 18], confidence: 0.93 },
    source: 'Sen (1968): slope 4, limits 3.71 and 4.38',
    steps: [
      'every later value is larger: s = 21; variance = 7 × 6 × 19 / 18 = 44.3333; z = 20/6.658328 = 3.003757; p = 0.002667',
      'exactP = 2 × 1/5040 = 0.000397',
      'N = 21 slopes in order: 1, 2.5, 3.667, 3.714, 3.75, … 4.182, 4.375, 5, 5, 6; the 11th is 4',
      'C = Φ⁻¹(0.965) × 6.658328 = 1.811911 × 6.658328 = 12.0643',
      'ranks (21 − 12.0643)/2 = 4.468 → 4 and (21 + 12.0643)/2 + 1 = 17.532 → 18: limits 3.714 and 4.375',
    ],
  },
  compute({ values: list, x, confidence }: z.infer<typeof input>) {
    const { limitsCutShort, ...result } = computeTrendTest(list, x, confidence);
    return {
      ...result,
      method: 'Mann–Kendall with tie and continuity correction; Theil–Sen slope with limits by rank',
      source: 'Mann (1945), Kendall (1975), Sen (1968)',
      notes: notesWhere(
        [true, 'assumes values independent of each other apart from the trend'],
        [list.length <= 10 && result.exactP === undefined, 'exactP is absent: there are ties'],
        [list.length > 10, 'exactP is absent: it is given up to ten values'],
        [limitsCutShort, 'too few pairs for this confidence: the limits are the extreme slopes and cover less'],
      ),
    };
  },
});
