import { z } from 'zod';
import { rateUncertainty as computeRateUncertainty, expandedUncertainty } from '../degradation/rate-uncertainty.js';
import { nonNegative, positive } from '../statistics/inputs.js';
import { present } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';
import { GENERATOR, simulation } from './loss-fields.js';

export const rateUncertainty: AnyCalculation = defineCalculation({
  name: 'rate-uncertainty',
  purpose: 'How well a corrosion rate from mass loss is known, with the share of each measured quantity',
  input: z.strictObject({
    massLossG: nonNegative('mass lost, in g'),
    massLossUncertaintyG: nonNegative('standard uncertainty of the mass loss, in g'),
    areaCm2: positive('exposed area, in cm²'),
    areaUncertaintyCm2: nonNegative('standard uncertainty of the area, in cm²'),
    timeH: positive('time of exposure, in h'),
    timeUncertaintyH: nonNegative('standard uncertainty of the time, in h'),
    densityGPerCm3: positive('density, in g/cm³'),
    densityUncertaintyGPerCm3: nonNegative('standard uncertainty of the density, in g/cm³'),
    coverageFactor: positive('coverage factor of the expanded uncertainty').default(2),
    simulation,
  }),
  output: {
    mmPerYear: 'rate, mm per year of 365 days',
    standardUncertaintyMmPerYear: 'combined standard uncertainty, mm/y',
    simulatedUncertaintyMmPerYear:
      'standard uncertainty that covers both ends of what was simulated, mm/y; absent where first order is enough, and where it has no bound',
    expandedUncertaintyMmPerYear:
      'coverage factor × standard uncertainty (the simulated one where it is there), mm/y; absent where it has no bound',
    relativeUncertainty:
      'the same standard uncertainty over rate; absent when the rate is 0, and where it has no bound',
    budget:
      'one line per quantity: value, standardUncertainty, sensitivity (mm/y per unit), contributionMmPerYear, share of the variance 0..1',
  },
  formula: [
    'rate r = 87600 × W / (A × T × D)',
    'sensitivities: r to W: 87600 / (A × T × D); r to A: −r / A; r to T: −r / T; r to D: −r / D',
    'contribution of each = |sensitivity| × its standard uncertainty',
    'standardUncertainty = √(sum of squared contributions); share = contribution² / that sum; expanded = coverageFactor × standardUncertainty',
    'first order is enough where √(sum of squares of uncertainty/value) of A, T and D is at most 0.01: the ends of the quotient at 95 % then lie at most z² × 0.01 = 2.7 % of the standard uncertainty from those of first order, less than the 5 % that one digit tolerates at least (JCGM 101, 8.1)',
    'else W, A, T and D are drawn as normal numbers, two pairs a draw, r without bound where A, T or D is not above 0; simulated = the farther end, at ranks N × 0.05 and N × 0.95 of N draws, from r, over 1.644854; it counts where the same of the ranks that are nearer to the middle by 3 √(0.0475 N), rounded, is above first order, which stands else',
    GENERATOR,
  ].join('\n'),
  source: 'JCGM 100:2008 (GUM) 5.1.2, first order, uncorrelated; JCGM 101:2008, 7 and 8; rate as in ASTM G1',
  example: {
    input: {
      massLossG: 0.0124,
      massLossUncertaintyG: 0.0001,
      areaCm2: 5.652,
      areaUncertaintyCm2: 0.05,
      timeH: 336,
      timeUncertaintyH: 0.5,
      densityGPerCm3: 1.84,
      densityUncertaintyGPerCm3: 0.01,
    },
    source: 'worked by hand',
    steps: [
      'r = 0.310861 mm/y; 87600 / (A T D) = 25.0695 mm/y per g',
      'mass: 25.0695 × 0.0001 = 0.00250695',
      'area: sensitivity −0.310861 / 5.652 = −0.0550002; × 0.05 = 0.00275001',
      'time: sensitivity −0.310861 / 336 = −0.000925182; × 0.5 = 0.000462591',
      'density: sensitivity −0.310861 / 1.84 = −0.168946; × 0.01 = 0.00168946',
      'squares 6.2848e-6, 7.5626e-6, 0.2140e-6, 2.8543e-6; sum 16.9156e-6; shares 0.371537, 0.447076, 0.0126505, 0.168737',
      'standardUncertainty = √16.9156e-6 = 0.0041129; × 2 = 0.0082257; relative 0.0041129 / 0.310861 = 0.0132305',
    ],
  },
  compute({ coverageFactor, simulation: by, ...input }) {
    const { mmPerYear, standardUncertaintyMmPerYear, simulatedMmPerYear, budget } = computeRateUncertainty(input, by);
    const known = simulatedMmPerYear ?? standardUncertaintyMmPerYear;
    const isBounded = Number.isFinite(known);
    const notes = [
      simulatedMmPerYear === undefined
        ? 'without correlation; first order is enough: the divisors together are known to a hundredth or better'
        : 'without correlation; first order is not enough: the divisors together are not known to a hundredth',
    ];
    if (!isBounded) {
      notes.push(
        'no bound: area, time or density is so little known that it may as well be none; first order alone does not tell how well the rate is known',
      );
    }
    if (mmPerYear === 0) notes.push('relativeUncertainty is absent: the rate is 0');
    if (standardUncertaintyMmPerYear === 0) notes.push('shares are absent: every uncertainty is 0');
    return {
      mmPerYear,
      standardUncertaintyMmPerYear,
      ...(isBounded
        ? {
            ...present({ simulatedUncertaintyMmPerYear: simulatedMmPerYear }),
            expandedUncertaintyMmPerYear: expandedUncertainty(known, coverageFactor),
            ...(mmPerYear === 0 ? {} : { relativeUncertainty: known / mmPerYear }),
          }
        : {}),
      budget,
      method: 'first-order propagation of uncorrelated uncertainties, and simulation where that is not enough',
      source: 'JCGM 100:2008 (GUM) 5.1.2; JCGM 101:2008; ASTM G1',
      notes,
    };
  },
});
