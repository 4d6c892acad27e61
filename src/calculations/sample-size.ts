import { z } from 'zod';
import { CalculationError } from '../base/errors.js';
import { count, probability, sides } from '../statistics/inputs.js';
import { sampleSize as fromStream, nonconformingItems, sampleSizeFromLot } from '../statistics/sample-size.js';
import { notesWhere } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  content: probability('share that is to conform (sides 2: share between the smallest and the largest value)'),
  confidence: probability('confidence of the statement'),
  failuresAllowed: count('nonconforming items that may be found', 0, 1_000_000).default(0),
  lotSize: count('items in the lot, when the sample is drawn from one lot', 1, 1_000_000_000).optional(),
  sides: sides('1: items conform or not, or one limit; 2: distribution-free interval').default(1),
});
type Input = z.infer<typeof input>;

export const sampleSize: AnyCalculation = defineCalculation({
  name: 'sample-size',
  purpose: 'How many items to test so that a pass says enough: no distribution assumed',
  input,
  output: { n: 'smallest sufficient number of items' },
  formula: [
    'sides 1: smallest n with P(found ≤ failuresAllowed) ≤ 1 − confidence, found binomial (n, 1 − content);',
    '  none allowed: n = ⌈ln(1 − confidence) / ln(content)⌉',
    'lotSize N: found hypergeometric, D = ⌈N (1 − content)⌉ nonconforming items in the lot;',
    '  none allowed: smallest n with (N − D)(N − D − 1)…(N − D − n + 1) / (N (N − 1)…(N − n + 1)) ≤ 1 − confidence',
    'sides 2: the interval from the smallest to the largest value: smallest n with P(found ≤ failuresAllowed + 1) ≤',
    '  1 − confidence; none allowed: 1 − n content^(n−1) + (n − 1) content^n ≥ confidence',
  ].join('\n'),
  source:
    'success-run formula (common practice); Wilks, Annals of Mathematical Statistics 12 (1941); hypergeometric definition',
  example: {
    input: { content: 0.95, confidence: 0.95 },
    source: 'well-known value 59',
    steps: [
      'ln(1 − 0.95) / ln(0.95) = −2.995732 / −0.051293 = 58.404',
      'n = 59: 0.95^59 = 0.048495 ≤ 0.05, while 0.95^58 = 0.051047 is not',
    ],
  },
  compute(given: Input) {
    const { lotSize, sides: sidesWanted, failuresAllowed, content } = given;
    if (lotSize !== undefined && sidesWanted === 2) {
      throw new CalculationError(
        'lotSize',
        'the distribution-free interval (sides 2) is for a stream, not for one lot',
      );
    }
    return {
      n: smallestN(given),
      method:
        lotSize !== undefined
          ? `hypergeometric, ${nonconformingItems(content, lotSize)} nonconforming items in the lot (rounded up)`
          : `binomial${sidesWanted === 2 ? ', both ends of the sample' : ''}`,
      source: sidesWanted === 2 ? 'Wilks, Annals of Mathematical Statistics 12 (1941)' : 'common practice (definition)',
      notes: notesWhere(
        [true, 'exact equality with 1 − confidence counts as reached'],
        [sidesWanted === 2 && failuresAllowed > 0, 'failuresAllowed values in all may be left outside the interval'],
      ),
    };
  },
});

function smallestN({ content, confidence, failuresAllowed, lotSize, sides: sidesWanted }: Input): number {
  if (lotSize !== undefined) return sampleSizeFromLot({ content, confidence, failuresAllowed }, lotSize);
  return fromStream({ content, confidence, failuresAllowed: failuresAllowed + (sidesWanted === 2 ? 1 : 0) });
}
