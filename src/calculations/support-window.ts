import { z } from 'zod';
import { lossOverTime } from '../degradation/loss-over-time.js';
import { supportWindow as computeSupportWindow } from '../degradation/support-window.js';
import { fraction, nonNegative, positive, probability } from '../statistics/inputs.js';
import { notesWhere } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';
import { losses } from './loss-fields.js';

const section = z
  .discriminatedUnion('shape', [
    z.strictObject({
      shape: z.enum(['plate', 'round']),
      sizeMm: positive('thickness of the plate or diameter of the core, in mm'),
    }),
    z.strictObject({
      shape: z.literal('table'),
      rows: z
        .array(
          z.strictObject({
            depthUm: nonNegative('loss on every face, in µm; 0 in the first row'),
            areaMm2: nonNegative('area left, in mm²'),
            sectionModulusMm3: nonNegative('section modulus left, in mm³'),
            secondMomentMm4: nonNegative('second moment of area left, in mm⁴'),
          }),
        )
        .min(2, 'needs at least two rows')
        .max(1000, 'takes at most 1000 rows'),
    }),
  ])
  .describe('section that carries the load: plate or round with sizeMm, or table with rows of what is left by depth');

const input = z.strictObject({
  losses,
  section,
  localisation: z
    .strictObject({
      factor: z.number().min(1, 'is deepest over mean attack and cannot be less than 1'),
      standardUncertainty: nonNegative('standard deviation of the factor of one specimen'),
    })
    .default({ factor: 1, standardUncertainty: 0 })
    .describe('deepest over mean attack with its spread; uniform when absent'),
  holdWeeks: positive('weeks for which it has to hold'),
  strengthLeft: fraction('least strength at the end of them, as a fraction of the start'),
  stiffnessLeft: fraction('least stiffness at the end of them, as a fraction of the start'),
  goneByWeeks: positive('weeks after which nothing may be left').optional(),
  confidence: probability('one-sided confidence of each end').default(0.95),
});

export const supportWindow: AnyCalculation = defineCalculation({
  name: 'support-window',
  purpose: 'Whether a section holds for the weeks that a case asks, and is gone in time, by exposures of its coupons',
  input,
  output: {
    hold: 'inside, outside or cannot be decided: whether it holds',
    gone: 'the same: whether nothing is left in time; absent without goneByWeeks',
    outcome: 'the worse of the two',
    strength:
      'left at the end of the weeks, 0..1: mean, lower, upper, by (first order or simulation); absent where the exposures do not tell',
    stiffness: 'the same of the stiffness',
    marginWeeks: 'whole weeks beyond holdWeeks for which it is known to hold; negative where for fewer',
    isAtLeast: 'true where the margin ends with the longest exposure',
    driver:
      'largest part of the uncertainty: source (curve, specimens, measuring, localisation) and share of the variance',
    longestWeeks: 'longest exposure, in weeks',
  },
  formula: [
    'loss d and its uncertainty at a time: as loss-over-time; deepest attack D = d × factor, u(D) = √((factor u(d))² + (d u(factor))²)',
    'plate: size left = size − 2 D, ratio q; strength q², stiffness q³, area q; round: q³, q⁴, q²; table: linear between rows, none beyond the last',
    'interval of what is left: mean ± z |slope| u(D), z the normal quantile of the confidence; where an end differs by more than 0.005',
    'from 2000 draws of d and factor with a fixed seed (mulberry32, seed 24301), the ends of the draws',
    'inside: the lower end keeps both limits; outside: the upper end breaks one; gone: no area at the upper end; a loss never comes back',
  ].join('\n'),
  source: 'beam theory; JCGM 100:2008 5.1.2; JCGM 101:2008 7 and 8',
  example: {
    input: {
      losses: [
        { hours: 336, depthUm: 16.8, standardUncertaintyUm: 0 },
        { hours: 2016, depthUm: 100.8, standardUncertaintyUm: 0 },
      ],
      section: { shape: 'plate', sizeMm: 2 },
      holdWeeks: 8,
      strengthLeft: 0.8,
      stiffnessLeft: 0.7,
    },
    source: 'worked by hand',
    steps: [
      'linear through both: a = 0.05 µm/h; at 8 weeks = 1344 h: d = 67.2 µm; q = 1 − 2 × 0.0672/2 = 0.9328',
      'strength 0.9328² = 0.870116; stiffness 0.9328³ = 0.811644: both above the limits, inside',
      'strength reaches 0.8 at q = 0.894427, stiffness 0.7 at q = 0.887904: D = 105.573 µm, beyond the 12 weeks of the longest exposure: margin at least 4 weeks',
    ],
  },
  compute({ losses: given, section: of, localisation, confidence, ...asked }: z.infer<typeof input>) {
    const answer = computeSupportWindow(lossOverTime(given), of, localisation, asked, confidence);
    return {
      ...answer,
      method: 'loss against time, section left by beam theory, interval by first order or simulation',
      source: 'beam theory; JCGM 100:2008; JCGM 101:2008',
      notes: notesWhere(
        [true, 'bench rates do not predict the body: degradation there may be faster or slower'],
        [answer.longestWeeks < asked.holdWeeks, 'the longest exposure ends before the weeks for which it has to hold'],
        [localisation.factor === 1, 'uniform loss is assumed: pits break that'],
      ),
    };
  },
});
