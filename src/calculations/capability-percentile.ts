import { z } from 'zod';
import { percentileIndices } from '../statistics/capability.js';
import { CAPABILITY_SHARES, quantileOf } from '../statistics/fitted-distributions.js';
import { finite, positive, requireLimit } from '../statistics/inputs.js';
import { notesWhere, present } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const threshold = finite('threshold below which no value lies, in the unit of the values; 0 by default').optional();

const distributions = z.discriminatedUnion(
  'name',
  [
    z.strictObject({
      name: z.literal('normal'),
      parameters: z.strictObject({ mean: finite('mean'), sd: positive('standard deviation') }),
    }),
    z.strictObject({
      name: z.literal('lognormal'),
      parameters: z.strictObject({
        logMean: finite('mean of the natural logarithm'),
        logSd: positive('standard deviation of the natural logarithm'),
        threshold,
      }),
    }),
    z.strictObject({
      name: z.literal('weibull'),
      parameters: z.strictObject({ shape: positive('shape'), scale: positive('scale'), threshold }),
    }),
    z.strictObject({
      name: z.literal('gumbel'),
      parameters: z.strictObject({ location: finite('location (of maxima)'), scale: positive('scale') }),
    }),
    z.strictObject({
      name: z.literal('gamma'),
      parameters: z.strictObject({ shape: positive('shape'), rate: positive('rate, 1 / scale'), threshold }),
    }),
  ],
  { error: 'must be an object with name normal, lognormal, weibull, gumbel or gamma, and its parameters' },
);

const input = z.strictObject({
  distribution: z
    .preprocess(nested, distributions)
    .describe(
      'name, and in `parameters` (or beside the name) what `fit` gives: normal mean, sd; lognormal logMean, logSd; weibull ' +
        'shape, scale; gumbel (of maxima) location, scale; gamma shape, rate; lognormal, weibull and gamma also threshold',
    ),
  lower: finite('lower specification limit; omit it when there is none').optional(),
  upper: finite('upper specification limit; omit it when there is none').optional(),
});

/** `{name, shape, scale}` reads like `{name, parameters: {shape, scale}}`. */
function nested(given: unknown): unknown {
  if (given === null || typeof given !== 'object' || Array.isArray(given) || 'parameters' in given) return given;
  const { name, ...parameters } = given as { name?: unknown };
  return { name, parameters };
}

export const capabilityPercentile: AnyCalculation = defineCalculation({
  name: 'capability-percentile',
  purpose: 'Capability of a characteristic that is not normal, from the percentiles of its fitted distribution',
  input,
  output: {
    p00135: 'value below which Φ(−3) = 0.134990 % of the distribution lies',
    p50: 'median of the distribution',
    p99865: 'value below which Φ(3) = 99.865010 % lies',
    pp: 'tolerance over p99865 − p00135; needs both limits',
    ppl: '(p50 − lower) / (p50 − p00135)',
    ppu: '(upper − p50) / (p99865 − p50)',
    ppk: 'the smaller of ppl and ppu',
  },
  formula: [
    'X(p) by distribution, z(p) the standard normal quantile: normal mean + sd z(p); lognormal threshold + exp(logMean +',
    '  logSd z(p)); Weibull threshold + scale (−ln(1 − p))^(1/shape); Gumbel location − scale ln(−ln p);',
    '  gamma threshold + G(p)/rate, G the quantile of the gamma distribution with this shape and rate 1',
    'p00135 = X(0.0013498980), p50 = X(0.5), p99865 = X(0.9986501020)',
    'pp = (U − L)/(p99865 − p00135); ppl = (p50 − L)/(p50 − p00135); ppu = (U − p50)/(p99865 − p50); ppk = min',
  ].join('\n'),
  source: 'ISO 22514-2, general geometric (quantile) method',
  example: {
    input: { distribution: { name: 'lognormal', parameters: { logMean: 1.2, logSd: 0.35 } }, lower: 0.5, upper: 12 },
    source: 'worked from the definition',
    steps: [
      'z = −3, 0, 3: p00135 = exp(1.2 − 1.05) = exp(0.15) = 1.161834; p50 = exp(1.2) = 3.320117; ' +
        'p99865 = exp(2.25) = 9.487736',
      'pp = (12 − 0.5) / (9.487736 − 1.161834) = 11.5 / 8.325902 = 1.381232',
      'ppl = (3.320117 − 0.5) / (3.320117 − 1.161834) = 2.820117 / 2.158283 = 1.306649',
      'ppu = (12 − 3.320117) / (9.487736 − 3.320117) = 8.679883 / 6.167619 = 1.407331; ppk = 1.306649',
    ],
  },
  compute({ distribution, lower, upper }: z.infer<typeof input>) {
    requireLimit({ lower, upper });
    const low = quantileOf(distribution, CAPABILITY_SHARES.low);
    const middle = quantileOf(distribution, CAPABILITY_SHARES.middle);
    const high = quantileOf(distribution, CAPABILITY_SHARES.high);
    const indices = percentileIndices({ low, middle, high }, { lower, upper });
    const both = indices.total !== undefined;
    return {
      p00135: low,
      p50: middle,
      p99865: high,
      ...present({ pp: indices.total, ppl: indices.toLower, ppu: indices.toUpper, ppk: indices.nearer }),
      method: `percentiles of the ${distribution.name} distribution at Φ(−3), 0.5 and Φ(3)`,
      source: 'ISO 22514-2, general geometric (quantile) method',
      notes: notesWhere(
        [true, 'the percentiles are taken as known; their uncertainty from the fit is not in these numbers'],
        [!both, 'pp needs both limits: absent'],
      ),
    };
  },
});
