import { z } from 'zod';
import { CalculationError } from '../base/errors.js';
import { count, fraction } from '../statistics/inputs.js';
import {
  acceptanceProbability,
  averageOutgoingQuality,
  averageTotalInspection,
} from '../statistics/operating-characteristic.js';
import { notesWhere, present } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  n: count('items in the sample', 1, 1_000_000_000),
  accept: count('acceptance number: the lot passes with up to this many nonconforming items', 0, 1_000_000_000),
  fractions: z
    .array(fraction('a fraction nonconforming'))
    .min(1, 'needs at least 1 fraction')
    .describe('fractions nonconforming, 0 to 1, for which the plan is judged'),
  model: z
    .enum(['binomial', 'hypergeometric', 'poisson'])
    .describe('how the number found is distributed')
    .default('binomial'),
  lotSize: count('items in the lot', 1, 1_000_000_000).optional(),
});
type Input = z.infer<typeof input>;

export const operatingCharacteristic: AnyCalculation = defineCalculation({
  name: 'operating-characteristic',
  purpose: 'How likely a sampling plan passes lots of a given quality (bought-in items such as pouches and labels)',
  input,
  output: {
    probabilities: 'probability of acceptance at each fraction',
    averageOutgoingQuality: 'fraction nonconforming after sorting rejected lots, at each fraction (with lotSize)',
    averageTotalInspection: 'items inspected per lot on average, at each fraction (with lotSize)',
  },
  formula: [
    'P = Σ over i = 0 … accept of P(i found)',
    'binomial: P(i) = n!/(i! (n − i)!) p^i (1 − p)^(n−i); Poisson: P(i) = e^(−np) (np)^i / i!',
    'hypergeometric: P(i) = C(D, i) C(N − D, n − i) / C(N, n), N = lotSize, D = N p rounded to a whole number',
    'averageOutgoingQuality = P p (N − n)/N; averageTotalInspection = n + (1 − P)(N − n)',
  ].join('\n'),
  source: 'NIST/SEMATECH e-Handbook 6.2.3.2; Montgomery, chapter on lot-by-lot acceptance sampling',
  example: {
    input: { n: 52, accept: 3, fractions: [0.03], lotSize: 10000 },
    source: 'NIST/SEMATECH e-Handbook 6.2.3.2: P = 0.930, AOQ = 0.0278, ATI = 753',
    steps: [
      'P = 0.97^52 + 52 × 0.03 × 0.97^51 + 1326 × 0.03² × 0.97^50 + 22100 × 0.03³ × 0.97^49 = ' +
        '0.205178 + 0.329977 + 0.260239 + 0.134144 = 0.929537',
      'averageOutgoingQuality = 0.929537 × 0.03 × 9948 / 10000 = 0.027741',
      'averageTotalInspection = 52 + 0.070463 × 9948 = 752.96',
    ],
  },
  compute(given: Input) {
    const { n, fractions, model, lotSize } = given;
    if (model === 'hypergeometric' && lotSize === undefined) {
      throw new CalculationError('lotSize', 'is needed for the hypergeometric model');
    }
    if (lotSize !== undefined && n > lotSize)
      throw new CalculationError('n', `is more than the ${lotSize} items of the lot`);
    const probabilities = fractions.map((p) => acceptanceProbability(given, p, model));
    const withLot = lotSize !== undefined;
    return {
      probabilities,
      ...present({
        averageOutgoingQuality: withLot
          ? fractions.map((p, i) => averageOutgoingQuality(p, probabilities[i]!, n, lotSize))
          : undefined,
        averageTotalInspection: withLot ? probabilities.map((p) => averageTotalInspection(p, n, lotSize)) : undefined,
      }),
      method: `${model} probabilities of acceptance`,
      source: 'NIST/SEMATECH e-Handbook 6.2.3.2',
      notes: notesWhere(
        [!withLot, 'averageOutgoingQuality and averageTotalInspection need lotSize: absent'],
        [withLot, 'rejected lots are taken as sorted and nonconforming items replaced'],
        [
          model === 'hypergeometric',
          'the number of nonconforming items in the lot is rounded to the nearest whole number',
        ],
      ),
    };
  },
});
