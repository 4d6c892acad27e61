import { z } from 'zod';
import { massLossRates } from '../degradation/corrosion-rate.js';
import { nonNegative, positive } from '../statistics/inputs.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

export const massLossRate: AnyCalculation = defineCalculation({
  name: 'mass-loss-rate',
  purpose: 'How fast a specimen corrodes, from the mass it lost',
  input: z.strictObject({
    massLossG: nonNegative('mass lost after cleaning, corrected for the cleaning blank, in g'),
    areaCm2: positive('exposed area at the start, in cm²'),
    timeH: positive('time of exposure, in h'),
    densityGPerCm3: positive('density of the material, in g/cm³'),
  }),
  output: {
    mmPerYear: 'mean loss of thickness, mm per year of 365 days',
    umPerYear: 'the same in µm per year',
    milPerYear: 'the same in thousandths of an inch per year (exact inch)',
    gPerM2Hour: 'mass loss rate, g/(m² h)',
    gPerM2Day: 'mass loss rate, g/(m² d)',
    mgPerCm2Day: 'mass loss rate, mg/(cm² d)',
  },
  formula: [
    'mmPerYear = 87600 × W / (A × T × D), with W in g, A in cm², T in h, D in g/cm³ (87600 = 8760 h/y × 10 mm/cm)',
    'umPerYear = 1000 × mmPerYear; milPerYear = mmPerYear / 0.0254',
    'gPerM2Hour = 10000 × W / (A × T); gPerM2Day = 24 × gPerM2Hour; mgPerCm2Day = gPerM2Day / 10',
  ].join('\n'),
  source: 'ASTM G1 (and G31), calculation of corrosion rate',
  example: {
    input: { massLossG: 0.0124, areaCm2: 5.652, timeH: 336, densityGPerCm3: 1.84 },
    source: 'worked by hand: 12.40 mg lost in 14 days',
    steps: [
      'A × T × D = 5.652 × 336 × 1.84 = 3494.2925',
      '87600 × 0.0124 = 1086.24',
      'mmPerYear = 1086.24 / 3494.2925 = 0.31086; umPerYear = 310.86',
      'milPerYear = 0.31086 / 0.0254 = 12.239',
      'gPerM2Hour = 10000 × 0.0124 / (5.652 × 336) = 0.065295; × 24 = 1.5671 g/(m² d) = 0.15671 mg/(cm² d)',
    ],
  },
  compute(input) {
    return {
      ...massLossRates(input),
      method: 'mass loss over area, time and density; year of 365 days',
      source: 'ASTM G1 (and G31)',
      notes: [
        'a mean over the whole surface and the whole exposure: localised attack is deeper, and the rate may change with time',
        'the handbook constant for mil per year is rounded (3.45e6) and gives 0.03 % more',
      ],
    };
  },
});
