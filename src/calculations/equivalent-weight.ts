import { z } from 'zod';
import { equivalentWeight as computeEquivalentWeight, massFractionSum } from '../degradation/corrosion-rate.js';
import { fraction, positive } from '../statistics/inputs.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const element = z.strictObject({
  massFraction: fraction('mass fraction of the element, 0..1'),
  molarMassGPerMol: positive('molar mass of the element, in g/mol'),
  valence: positive('electrons given up by one atom'),
});

export const equivalentWeight: AnyCalculation = defineCalculation({
  name: 'equivalent-weight',
  purpose: 'The equivalent weight of an alloy, for a rate from a corrosion current',
  input: z.strictObject({
    elements: z
      .array(element)
      .min(1, 'needs at least one element')
      .describe('the elements that dissolve: massFraction 0..1, molarMassGPerMol, valence'),
  }),
  output: { equivalentWeight: 'equivalent weight, g/mol of electrons' },
  formula: 'equivalentWeight = 1 / Σ (valence × massFraction / molarMass), summed over the elements',
  source: 'ASTM G102',
  example: {
    input: {
      elements: [
        { massFraction: 0.97, molarMassGPerMol: 24.305, valence: 2 },
        { massFraction: 0.03, molarMassGPerMol: 26.982, valence: 3 },
      ],
    },
    source: 'worked by hand: magnesium with 3 % aluminium',
    steps: [
      'magnesium: 2 × 0.97 / 24.305 = 0.0798190',
      'aluminium: 3 × 0.03 / 26.982 = 0.0033355',
      'equivalentWeight = 1 / (0.0798190 + 0.0033355) = 12.0258',
    ],
  },
  compute({ elements }) {
    const sum = massFractionSum(elements);
    const notes = ['the valence depends on potential and medium: state where it was taken from'];
    if (Math.abs(sum - 1) > 1e-9) {
      notes.push(`the mass fractions sum to ${Number(sum.toPrecision(9))}, not to 1; they were taken as they are`);
    }
    return {
      equivalentWeight: computeEquivalentWeight(elements),
      method: 'reciprocal of the summed electron equivalents of the elements',
      source: 'ASTM G102',
      notes,
    };
  },
});
