import { z } from 'zod';
import { lossOverTime } from '../degradation/loss-over-time.js';
import { supportWindow as computeSupportWindow } from '../degradation/support-window.js';
import { fraction, nonNegative, positive, probability } from '../statistics/inputs.js';
import { notesWhere } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';
import { losses, SIMULATED, simulation } from './loss-fields.js';

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
      degreesOfFreedom: nonNegative(
        'of the standard deviation: one less than specimens measured; as if well known when absent',
      )
        .max(1_000_000, 'takes at most 1 000 000')
        .optional(),
    })
    .default({ factor: 1, standardUncertainty: 0 })
    .describe('deepest over mean attack with its spread; uniform when absent'),
  holdWeeks: positive('weeks for which it has to hold'),
  strengthLeft: fraction('least strength at the end of them, as a fraction of the start'),
  stiffnessLeft: fraction('least stiffness at the end of them, as a fraction of the start'),
  goneByWeeks: positive('weeks after which nothing may be left').optional(),
  confidence: probability('one-sided confidence of each end').default(0.95),
  simulation,
});

export const supportWindow: AnyCalculation = defineCalculation({
  name: 'support-window',
  purpose: 'Whether a section holds for the weeks that a case asks, and is gone in time, by exposures of its coupons',
  input,
  output: {
    hold: 'inside, outside or cannot be decided: whether it holds',
    gone: 'the same: whether nothing is left in time; absent without goneByWeeks',
    outcome: 'the worse of the two',
    strength: 'left at the end of the weeks, 0..1: mean, lower, upper; absent where the exposures do not tell',
    stiffness: 'the same of the stiffness',
    marginWeeks: 'whole weeks beyond holdWeeks for which it is known to hold; negative where for fewer',
    isAtLeast: 'true where the margin ends with the longest exposure',
    driver:
      'largest part of the uncertainty: source (curve, specimens, measuring, localisation) and share of the variance',
    unknown:
      'why nothing is decided: spreads of which too few specimens tell (specimens, localisation), a longer exposure that lost less (falls), or too few draws for the confidence (draws)',
    longestWeeks: 'longest exposure, in weeks',
    firstOrder:
      'enough or not enough, at the end of the weeks; absent where the deepest attack is straight in all that it comes from, or nothing is bounded',
  },
  formula: [
    'loss d with curveUm, specimensUm and measuringUm at a time: as loss-over-time; deepest attack D = d × factor',
    'half width of d: a = √(t² (curveUm² + specimensUm²) + z² measuringUm²); of the factor: b = t_f × standardUncertainty',
    'z the normal quantile of the confidence, t and t_f those of Student with the degrees of freedom of the spread and of the factor; none: without bound',
    'half width of D: √((factor a)² + (d b)² + (a b)²), D not below 0; what is left falls with D: each end of D gives an end of it',
    ...SIMULATED,
    'plate: size left = size − 2 D, ratio q; strength q², stiffness q³; round: q³, q⁴; table: linear between rows, none beyond the last',
    'inside: the lower end keeps both limits; outside: the upper end breaks one; gone: d (without factor) at its lower end takes the whole section; a loss never comes back',
  ].join('\n'),
  source:
    'beam theory; JCGM 100:2008 5.1.2, G.3 and G.4, than which it is never narrower; JCGM 101:2008 6.4.9, 7 and 8',
  example: {
    input: {
      losses: [
        { hours: 336, depthUm: 16.8, standardUncertaintyUm: 0 },
        { hours: 2016, depthUm: 99.792, standardUncertaintyUm: 0 },
        { hours: 2016, depthUm: 101.808, standardUncertaintyUm: 0 },
      ],
      section: { shape: 'plate', sizeMm: 2 },
      holdWeeks: 8,
      strengthLeft: 0.8,
      stiffnessLeft: 0.7,
    },
    source: 'worked by hand',
    steps: [
      'spread: at 12 weeks mean 100.8, standard deviation 1.425528, s = 0.0141421, 1 degree of freedom: t = 6.313752',
      'linear: a = 0.05 µm/h; at 8 weeks = 1344 h: d = 67.2 µm; curveUm = 67.2 s/√3, specimensUm = 67.2 s; together 67.2 s √(4/3) = 1.097371',
      'half width 6.313752 × 1.097371 = 6.928530: d from 60.271470 to 74.128530 µm; q = 1 − d/1000',
      'strength 0.9328² = 0.870116, lower end 0.925871² = 0.857238; stiffness 0.811644 and 0.793692: above the limits, inside',
      'upper ends: q = 0.939729, strength 0.883090, stiffness 0.829865; the specimens are 1/(1 + 1/3) = 0.75 of the variance',
      'upper end of d 9.266066 µm a week; strength reaches 0.8 at q = 0.894427, d = 105.573 µm: after 11.39 weeks, margin 3 whole weeks',
    ],
  },
  compute({ losses: given, section: of, localisation, confidence, simulation: by, ...asked }: z.infer<typeof input>) {
    const answer = computeSupportWindow(lossOverTime(given), of, localisation, asked, confidence, { simulation: by });
    return {
      ...answer,
      method: 'loss against time with its interval, and what a section keeps at each end of it by beam theory',
      source: 'beam theory; JCGM 100:2008',
      notes: notesWhere(
        [true, 'bench rates do not predict the body: degradation there may be faster or slower'],
        [answer.longestWeeks < asked.holdWeeks, 'the longest exposure ends before the weeks for which it has to hold'],
        [
          answer.unknown.includes('specimens'),
          'no duration has two specimens: nothing is known of their spread, and nothing is decided',
        ],
        [
          answer.unknown.includes('localisation'),
          'the factor was measured on one specimen: nothing is known of its spread, and nothing is decided',
        ],
        [answer.unknown.includes('falls'), 'a longer exposure lost less than a shorter one: nothing is decided'],
        [
          answer.unknown.includes('draws'),
          'too few draws for the confidence: fewer than 100 lie beyond an end, and nothing is decided; state more draws',
        ],
        [
          answer.firstOrder === 'not enough',
          'first order is not enough at the end of the weeks: an end there is that of the simulation',
        ],
        [localisation.factor === 1, 'uniform loss is assumed: pits break that'],
      ),
    };
  },
});
