import { z } from 'zod';
import { currentRate as computeCurrentRate } from '../degradation/corrosion-rate.js';
import { nonNegative, positive } from '../statistics/inputs.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

export const currentRate: AnyCalculation = defineCalculation({
  name: 'current-rate',
  purpose: 'How fast a metal corrodes, from its corrosion current density',
  input: z.strictObject({
    currentUaPerCm2: nonNegative('corrosion current density, in µA/cm²'),
    equivalentWeight: positive('equivalent weight (molar mass over valence; magnesium 12.1525), in g/mol'),
    densityGPerCm3: positive('density of the material, in g/cm³'),
  }),
  output: {
    mmPerYear: 'mean loss of thickness, mm per year of 365 days',
    mgPerCm2Day: 'mass loss rate, mg/(cm² d)',
  },
  formula: [
    'mmPerYear = K × i × EW / D, K = 315.36 / 96485.33212 = 3.26848e-3 mm g/(µA cm y): 1e-6 A/µA × 31536000 s/y × 10 mm/cm over the Faraday constant',
    'mgPerCm2Day = i × EW × 86.4 / 96485.33212',
  ].join('\n'),
  source: 'Faraday’s law; ASTM G102 (which prints K = 3.27e-3)',
  example: {
    input: { currentUaPerCm2: 25, equivalentWeight: 12.1525, densityGPerCm3: 1.738 },
    source: 'worked by hand: pure magnesium at 25 µA/cm²',
    steps: [
      'mmPerYear = 3.26848e-3 × 25 × 12.1525 / 1.738 = 0.57135 (with the rounded 3.27e-3: 0.57161)',
      'mgPerCm2Day = 25 × 12.1525 × 86.4 / 96485.33 = 0.27206',
    ],
  },
  compute(input) {
    return {
      ...computeCurrentRate(input),
      method: 'Faraday’s law with F = 96485.33212 C/mol; year of 365 days',
      source: 'ASTM G102',
      notes: [
        'electrochemical rates of magnesium often disagree with steady mass loss: use them to compare, not to accept',
      ],
    };
  },
});
