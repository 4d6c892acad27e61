import { z } from 'zod';
import { capabilityIndices, offCentreShare, targetIndex } from '../statistics/capability.js';
import { exactLowerBound, ppInterval } from '../statistics/capability-bounds.js';
import { movingRangeSigma } from '../statistics/individuals-chart.js';
import { finite, positive, probability, requireLimit } from '../statistics/inputs.js';
import { readSample, sampleFields } from '../statistics/sample.js';
import { notesWhere, present } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  ...sampleFields,
  lower: finite('lower specification limit; omit it when there is none (a physical bound is no limit)').optional(),
  upper: finite('upper specification limit; omit it when there is none').optional(),
  target: finite('target value, for cpm').optional(),
  confidence: probability('confidence of the bounds').default(0.95),
  withinSigma: positive(
    'short-term standard deviation, for cp and cpk; without it they come from the moving range of values',
  ).optional(),
});
type Input = z.infer<typeof input>;

export const capability: AnyCalculation = defineCalculation({
  name: 'capability',
  purpose: 'How well a normal characteristic fits between its limits, with the confidence the sample allows',
  input,
  output: {
    n: 'number of values',
    mean: 'sample mean',
    sd: 'overall standard deviation, divisor n − 1',
    pp: 'tolerance over six overall sd; needs both limits',
    ppl: 'distance of the mean from the lower limit over three overall sd',
    ppu: 'distance of the mean from the upper limit over three overall sd',
    ppk: 'the smaller of ppl and ppu',
    cpm: 'tolerance over six times the root mean square distance from the target; needs both limits and a target',
    k: 'distance of the mean from the middle of the tolerance over half the tolerance; needs both limits',
    cp: 'as pp, with the within (short-term) sigma',
    cpl: 'as ppl, with the within sigma',
    cpu: 'as ppu, with the within sigma',
    cpk: 'as ppk, with the within sigma',
    bounds: 'ppk: one-sided lower confidence bound; pp: two-sided confidence interval; each with its method',
  },
  formula: [
    'pp = (U − L) / (6 sd); ppl = (mean − L) / (3 sd); ppu = (U − mean) / (3 sd); ppk = min(ppl, ppu)',
    'cp, cpl, cpu, cpk: the same with the within sigma; from values, sigma = mean moving range of two / d2, d2 = 2/√π',
    'cpm = (U − L) / (6 √(sd² + (mean − T)²)); k = |(L + U)/2 − mean| / ((U − L)/2)',
    'bounds.ppk.lower = C with P(T ≤ 3 √n ppk) = confidence, T noncentral t with n − 1 degrees of freedom and',
    '  noncentrality 3 √n C. By hand: Bissell’s approximation (capability-bound) as a start, then try values of C with',
    '  P(T ≤ t) = ∫ Φ(t s − 3 √n C) f(s) ds, f the density of √(χ²/(n − 1)), until P is the confidence.',
    'bounds.pp = pp √(χ²(p; n − 1) / (n − 1)) at p = (1 − confidence)/2 and (1 + confidence)/2',
  ].join('\n'),
  source:
    'NIST/SEMATECH e-Handbook 6.1.6; ISO 22514-2 (names); Chou, Owen and Borrego (1990) and Kushler and Hurley (1992) ' +
    'for the exact bound; Montgomery, Introduction to Statistical Quality Control, for the interval of pp',
  example: {
    input: { mean: 16, sd: 2, n: 50, lower: 8, upper: 20, target: 14, withinSigma: 1.9 },
    source: 'NIST/SEMATECH e-Handbook 6.1.6 (indices 1.0, 0.6667, 0.6667, 1.3333, k = 0.3333); n and withinSigma added',
    steps: [
      'pp = (20 − 8) / (6 × 2) = 1',
      'ppl = (16 − 8) / (3 × 2) = 1.3333; ppu = (20 − 16) / (3 × 2) = 0.6667; ppk = 0.6667',
      'k = |14 − 16| / ((20 − 8)/2) = 2 / 6 = 0.3333',
      'cpm = 12 / (6 √(2² + (16 − 14)²)) = 12 / (6 × 2.8284) = 0.7071',
      'cp = 12 / (6 × 1.9) = 1.0526; cpl = 8 / 5.7 = 1.4035; cpu = 4 / 5.7 = 0.7018; cpk = 0.7018',
      'bounds.ppk: t = 3 √50 × 0.66667 = 14.1421; the noncentrality with P(T(49) ≤ 14.1421) = 0.95 is 11.23479, ' +
        'so the bound is 11.23479 / (3 √50) = 0.529613',
      'bounds.pp: χ²(0.025; 49) = 31.55492 and χ²(0.975; 49) = 70.22241; 1 × √(31.55492/49) = 0.802482, 1 × √(70.22241/49) = 1.197126',
    ],
  },
  compute(given: Input) {
    requireLimit(given);
    const { lower, upper, target, confidence } = given;
    const sample = readSample(given);
    const { n, mean, sd } = sample;
    const overall = capabilityIndices(mean, sd, given);
    const withinSigma = given.withinSigma ?? (given.values && movingRangeSigma(given.values));
    const within = withinSigma === undefined ? undefined : capabilityIndices(mean, withinSigma, given);
    const both = lower !== undefined && upper !== undefined;
    return {
      n,
      mean,
      sd,
      ...present({
        pp: overall.total,
        ppl: overall.toLower,
        ppu: overall.toUpper,
        ppk: overall.nearer,
        cpm: both && target !== undefined ? targetIndex(mean, sd, lower, upper, target) : undefined,
        k: both ? offCentreShare(mean, lower, upper) : undefined,
        cp: within?.total,
        cpl: within?.toLower,
        cpu: within?.toUpper,
        cpk: within?.nearer,
      }),
      bounds: {
        ppk: {
          lower: exactLowerBound(overall.nearer, n, confidence),
          method: both
            ? 'one-sided, noncentral t; conservative, since ppk is the smaller of two estimates'
            : 'one-sided, noncentral t; exact for a normal characteristic',
        },
        ...(overall.total !== undefined && {
          pp: {
            ...ppInterval(overall.total, n, confidence),
            method: 'two-sided, chi-square; exact for a normal characteristic',
          },
        }),
      },
      method: 'normal characteristic: indices from mean and standard deviation; bounds by noncentral t and chi-square',
      source: 'NIST/SEMATECH e-Handbook 6.1.6; Chou, Owen and Borrego (1990)',
      notes: capabilityNotes(given, within !== undefined),
    };
  },
});

function capabilityNotes(given: Input, hasWithin: boolean): string[] {
  const both = given.lower !== undefined && given.upper !== undefined;
  return notesWhere(
    [true, 'all indices and bounds assume one normal characteristic; look at normality first'],
    [!both, 'pp, k, the interval of pp and cpm need both limits: absent'],
    [both && given.target === undefined, 'cpm needs a target: absent'],
    [!hasWithin, 'cp, cpl, cpu and cpk need withinSigma, or values in time order: absent'],
    [hasWithin, 'cp, cpl, cpu and cpk speak of a stable process only; look at a control chart first'],
    [
      hasWithin && given.withinSigma === undefined,
      'the within sigma is the mean moving range of two over d2 = 1.128379: the values must stand in time order',
    ],
  );
}
