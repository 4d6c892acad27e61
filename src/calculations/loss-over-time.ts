import { z } from 'zod';
import { lossOverTime as computeLossOverTime } from '../degradation/loss-over-time.js';
import { positive } from '../statistics/inputs.js';
import { notesWhere, present } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';
import { DEPTH_OF_MASS, losses } from './loss-fields.js';

const input = z.strictObject({
  losses,
  hours: z
    .array(positive('a time, in h'))
    .max(1000)
    .optional()
    .describe('list of times at which the loss is wanted, in h'),
});

export const lossOverTime: AnyCalculation = defineCalculation({
  name: 'loss-over-time',
  purpose: 'Loss against time from exposures of several durations, with the law that it follows and its band',
  input,
  output: {
    durations:
      'for each duration: hours, n, builds, meanUm, withinUm and betweenUm (spread of specimens within a build and of builds), measuringUm',
    spread:
      'of one specimen as a part of the loss: relative, degreesOfFreedom; none where no duration has two specimens, and then it is not known',
    laws: 'for each law fitted: law, a, b, chiSquare, degreesOfFreedom, p, aicc',
    law: 'name of the law that the curve follows; absent where it follows none',
    why: 'why: one duration, two durations, least criterion, fewest parameters, no law fits',
    falls: 'durations between which the mean loss falls by more than twice its uncertainty: fromHours, toHours',
    longestHours: 'longest exposure: nothing is stated beyond it',
    curve:
      'for each time asked: hours, depthUm, curveUm, specimensUm, measuringUm and standardUncertaintyUm (of one specimen)',
  },
  formula: [
    DEPTH_OF_MASS,
    'durations closer than 2 % of the longer one count as one',
    'spread s = √(Σ f (within² + between²)/mean² / Σ f), a part of the loss, over durations with two specimens and more; f = n − 1, or builds − 1 where there are several',
    'weights w = 1 / (standardUncertaintyUm² + (s × mean of the duration)²)',
    'linear d = a h (two durations and more); power d = a h^b and saturating d = a (1 − exp(−h/b)) (three and more): least Σ w (d − law)² = χ²',
    'aicc = χ² + 2 k + 2 k (k + 1)/(n − k − 1), k parameters, n exposures; the law with the least, or one within 2 of it with fewer parameters',
    'a law with P(χ² as large) < 0.01 is not followed: the curve goes straight from mean to mean, equal where a mean would fall',
    'curveUm = √(gᵀ C g) with C = (JᵀWJ)⁻¹, times max(1, χ²/(n − k)); from mean to mean: s × mean / √n of both ends, interpolated',
    'specimensUm = s × depthUm; measuringUm = depthUm × root mean square of standardUncertaintyUm/depthUm; standardUncertaintyUm = √(sum of the three squares)',
  ].join('\n'),
  source:
    'weighted least squares: Bates and Watts, Nonlinear Regression Analysis; criterion: Hurvich and Tsai, Biometrika 76 (1989) 297; JCGM 100:2008 5.1.2',
  example: {
    input: {
      losses: [
        { hours: 100, depthUm: 5, standardUncertaintyUm: 1 },
        { hours: 200, depthUm: 12, standardUncertaintyUm: 2 },
      ],
      hours: [200],
    },
    source: 'worked by hand',
    steps: [
      'one specimen a duration: s = 0; w = 1 and 0.25',
      'a = (1 × 100 × 5 + 0.25 × 200 × 12) / (1 × 100² + 0.25 × 200²) = 1100 / 20000 = 0.055',
      'χ² = 1 × (5 − 5.5)² + 0.25 × (12 − 11)² = 0.5; curveUm at 200 h = 200 / √20000 = 1.414214',
      'p = P(χ² ≥ 0.5), 1 degree of freedom, = erfc(√(0.5 / 2)) = 0.479500',
      'depthUm = 0.055 × 200 = 11; measuringUm = 11 × √((0.2² + 0.166667²)/2) = 11 × 0.184089 = 2.024983',
      'standardUncertaintyUm = √(1.414214² + 0 + 2.024983²) = 2.469929',
    ],
  },
  compute({ losses: given, hours = [] }: z.infer<typeof input>) {
    const { durations, spread, laws, law, why, falls, longestHours, at } = computeLossOverTime(given);
    const curve = hours.flatMap((one) => {
      const found = at(one);
      return found ? [{ hours: one, ...found }] : [];
    });
    return {
      ...{ durations, spread },
      laws: laws.map(({ at: _, varianceAt: __, movedAt: ___, ...figures }) => figures),
      ...present({ law: law?.law }),
      ...{ why, falls, longestHours, curve },
      method: 'weighted least squares of monotone laws through no loss at the start, or straight from mean to mean',
      source: 'Bates and Watts; Hurvich and Tsai (1989); JCGM 100:2008',
      notes: notesWhere(
        [true, 'a loss of the bench: it may be faster or slower than in the body'],
        [
          curve.length < hours.length,
          'a time asked is absent: nothing is stated beyond the longest exposure, nor at other times than the only one',
        ],
        [falls.length > 0, 'a longer exposure lost less than a shorter one: look for what differs between them'],
        [
          spread.degreesOfFreedom === 0,
          'no duration has two specimens: their spread is not known, and standardUncertaintyUm lacks it',
        ],
      ),
    };
  },
});
