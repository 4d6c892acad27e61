import { z } from 'zod';
import { roundDecimal } from '../base/decimal.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  value: z.string('expected decimal text in quotes, such as "12.35"').describe('the value, as decimal text'),
  place: z
    .string('expected decimal text in quotes, such as "0.1"')
    .describe('the rounding interval, as decimal text: "0.1", "1", "10", also "0.5"'),
  rule: z
    .enum(['half-even', 'half-away'], 'must be half-even or half-away')
    .describe('what becomes of a tie: half-even to the even multiple, half-away away from zero'),
});

export const round: AnyCalculation = defineCalculation({
  name: 'round',
  purpose: 'A reported value rounded to a place, in decimal arithmetic',
  input,
  output: { rounded: 'the rounded value, as decimal text with the decimals of the place' },
  formula: [
    'rounded = place × the whole number nearest to value / place',
    'exactly between two whole numbers: half-even takes the even one, half-away the one farther from zero',
  ].join('\n'),
  source: 'ISO 80000-1 annex B, rule A (half-even; ASTM E29 rounding method) and rule B (half-away)',
  example: {
    input: { value: '12.25', place: '0.1', rule: 'half-even' },
    source: 'ISO 80000-1 annex B, rule A',
    steps: ['12.25 / 0.1 = 122.5, between 122 and 123', '122 is even: rounded = 122 × 0.1 = 12.2 (half-away: 12.3)'],
  },
  compute({ value, place, rule }: z.infer<typeof input>) {
    return {
      rounded: roundDecimal(value, place, rule),
      method: `decimal arithmetic on the text, ties ${rule === 'half-even' ? 'to the even multiple' : 'away from zero'}`,
      source: 'ISO 80000-1 annex B',
      notes: ['round once, from all reported digits: rounding twice can move a value by a whole place'],
    };
  },
});
