import { z } from 'zod';
import { decimal } from '../statistics/inputs.js';
import { nestedVariance as computeNestedVariance, type Nested } from '../statistics/nested-variance.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const nested: z.ZodType<Nested> = z.union([z.array(z.lazy(() => nested)), decimal], {
  error: 'expected a list of values, or of lists of values nested to one depth',
});

const input = z.strictObject({
  data: z
    .array(nested, 'expected a list of values, or of lists of values nested to one depth')
    .describe('data[lot][part][repeat]… to any depth; the same number of members, two or more, at each level'),
});

export const nestedVariance: AnyCalculation = defineCalculation({
  name: 'nested-variance',
  purpose: 'How much spread each level of a nested design adds (lot, part, place, repeat)',
  input,
  output: {
    grandMean: 'mean of all values',
    anova: 'one line per level from the top: level (1 = top), sumSquares, df, meanSquare',
    components: 'one line per level from the top: level, variance; a negative estimate is given as it is',
  },
  formula: [
    'sizes m_1, m_2, … m_L from the top; b_l = m_{l+1} × … × m_L values in one member of level l (b_L = 1)',
    'sumSquares_l = b_l Σ (mean of member − mean of the member above it)² over all members of level l',
    'df_l = m_1 × … × m_{l−1} × (m_l − 1); meanSquare_l = sumSquares_l / df_l',
    'variance_l = (meanSquare_l − meanSquare_{l+1}) / b_l; variance_L = meanSquare_L',
  ].join('\n'),
  source: 'NIST/SEMATECH e-Handbook 6.6.1; Searle, Casella and McCulloch, Variance Components (1992)',
  example: {
    input: {
      data: [
        [
          [10, 12],
          [13, 15],
        ],
        [
          [20, 22],
          [17, 21],
        ],
      ],
    },
    source: 'worked by hand: 2 lots, 2 parts each, 2 repeats each',
    steps: [
      'part means 11, 14, 21, 19; lot means 12.5, 20; grand mean 16.25',
      'level 1: 4 × (3.75² + 3.75²) = 112.5, df 1, meanSquare 112.5',
      'level 2: 2 × (1.5² + 1.5² + 1² + 1²) = 13, df 2, meanSquare 6.5',
      'level 3: 2 + 2 + 2 + 8 = 14, df 4, meanSquare 3.5',
      'variances: (112.5 − 6.5)/4 = 26.5; (6.5 − 3.5)/2 = 1.5; 3.5',
    ],
  },
  compute({ data }: z.infer<typeof input>) {
    const result = computeNestedVariance(data);
    const negative = result.components.filter(({ variance }) => variance < 0).map(({ level }) => level);
    return {
      ...result,
      method: 'balanced nested analysis of variance, every level random',
      source: 'NIST/SEMATECH e-Handbook 6.6.1',
      notes: [
        'level 1 is the top, the last level is that of the single values',
        ...(negative.length > 0
          ? [`the variance of level ${negative.join(', ')} is negative: read it as none seen`]
          : []),
      ],
    };
  },
});
