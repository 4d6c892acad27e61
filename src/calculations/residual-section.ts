import { z } from 'zod';
import { residualSection as computeResidualSection } from '../degradation/residual-section.js';
import { nonNegative, positive } from '../statistics/inputs.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

export const residualSection: AnyCalculation = defineCalculation({
  name: 'residual-section',
  purpose: 'What is left of a section, and of its strength and stiffness, after some weeks of loss',
  input: z.strictObject({
    shape: z
      .enum(['plate', 'round'], 'must be plate or round')
      .describe('plate (loss on both faces, width kept) or round (loss all around the core)'),
    sizeMm: positive('thickness of the plate, or core diameter, at the start, in mm'),
    rateMmPerYear: nonNegative('rate of loss on each face, in mm per year'),
    weeks: nonNegative('time in weeks of 7 days'),
    localisationFactor: z
      .number()
      .min(1, 'is deepest over mean attack and cannot be less than 1')
      .default(1)
      .describe('deepest over mean attack, 1 for uniform loss'),
  }),
  output: {
    depthMm: 'loss on each face, mm',
    sizeLeftMm: 'thickness or diameter left, mm; 0 when used up',
    strengthLeft: 'bending strength left, 0..1 of the start (section modulus)',
    stiffnessLeft: 'bending stiffness left, 0..1 of the start (second moment of area)',
    tensionLeft: 'tensile strength left, 0..1 of the start (area)',
  },
  formula: [
    'depthMm = rate × localisationFactor × weeks × 7 / 365',
    'sizeLeftMm = size − 2 × depthMm, not below 0; q = sizeLeftMm / size',
    'plate: tension q, bending strength q², bending stiffness q³',
    'round: tension q², strength in bending and torsion q³, stiffness in bending and torsion q⁴',
  ].join('\n'),
  source: 'beam theory: area, section modulus and second moment of rectangle and circle',
  example: {
    input: { shape: 'plate', sizeMm: 2, rateMmPerYear: 0.5, weeks: 12 },
    source: 'worked by hand: a 2 mm plate after 12 weeks at 0.5 mm/y',
    steps: [
      'depthMm = 0.5 × 1 × 12 × 7 / 365 = 0.115068',
      'sizeLeftMm = 2 − 2 × 0.115068 = 1.769863; q = 0.884932',
      'strengthLeft = q² = 0.7831; stiffnessLeft = q³ = 0.6930; tensionLeft = q = 0.8849',
    ],
  },
  compute(input) {
    const result = computeResidualSection(input);
    const notes = [
      'bench rates do not predict the body: degradation there may be faster or slower',
      'loss is taken as uniform along the part and constant in time; pits break that: report the smallest measured section',
      'the sign of the effect of peening on the rate is not assumed: use a rate measured on peened material',
    ];
    if (result.sizeLeftMm === 0) notes.push('the section is used up by this time');
    return {
      ...result,
      method: 'equal loss on both faces; ratios of section modulus and second moment of area; year of 365 days',
      source: 'beam theory',
      notes,
    };
  },
});
