import { z } from 'zod';
import { DISTRIBUTIONS } from '../base/distribution-names.js';
import { fitDistribution } from '../statistics/fit.js';
import { censoredValues } from '../statistics/inputs.js';
import { notesWhere, present } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  values: censoredValues('the values; "<0.3" lies below 0.3, ">120" above 120', 2),
  distribution: z.enum(DISTRIBUTIONS, `must be one of ${DISTRIBUTIONS.join(', ')}`).describe('the distribution to fit'),
  threshold: z
    .boolean('must be true or false')
    .default(false)
    .describe('also fit a lower end other than zero (lognormal, weibull, gamma)'),
});

export const fit: AnyCalculation = defineCalculation({
  name: 'fit',
  purpose: 'The distribution of a family that makes the values most likely, values below or above a limit included',
  input,
  output: {
    parameters:
      'normal: mean, sd (divisor n); lognormal: logMean, logSd; weibull: shape, scale; gumbel (of maxima): location, scale; gamma: shape, rate; threshold where asked',
    logLikelihood: 'natural logarithm of the maximised likelihood',
    andersonDarling: 'A² of the values against the fitted distribution; absent with censored values',
  },
  formula: [
    'maximise Σ ln f(x) over known values + Σ ln F(c) over values "<c" + Σ ln(1 − F(c)) over values ">c"',
    'normal: F = Φ((x − mean)/sd); all known: mean = Σx/n, sd = √(Σ(x − mean)²/n)',
    'lognormal: the normal fit of ln x; the logarithm of the likelihood less Σ ln x over known values',
    'weibull: F = 1 − exp(−(x/scale)^shape); the shape k solves Σ x^k ln x / Σ x^k − 1/k = (1/r) Σ ln x over the r known',
    '    values (sums over all values, run-outs included; without "<" values), scale = (Σ x^k / r)^(1/k)',
    'gumbel: F = exp(−exp(−(x − location)/scale)); the scale b solves mean − Σ x e^(−x/b)/Σ e^(−x/b) = b,',
    '    location = −b ln(mean of e^(−x/b)) (all known)',
    'gamma: density rate^shape x^(shape−1) e^(−rate x)/Γ(shape); ln shape − ψ(shape) = ln(mean) − mean of ln x,',
    '    rate = shape/mean (all known)',
    'threshold t: x − t in place of x; t is the highest local maximum of the likelihood maximised over the others',
    'A² = −n − (1/n) Σ (2i − 1)(ln F(x_i) + ln(1 − F(x_{n+1−i}))), x in ascending order',
  ].join('\n'),
  source:
    'Lawless, Statistical Models and Methods for Lifetime Data; NIST/SEMATECH e-Handbook 8.4.1.2; Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions',
  example: {
    input: {
      values: [
        54,
        187,
        216,
        240,
        244,
        335,
        361,
        373,
        375,
        386,
        '>500',
        '>500',
        '>500',
        '>500',
        '>500',
        '>500',
        '>500',
        '>500',
        '>500',
        '>500',
      ],
      distribution: 'weibull',
    },
    source: 'NIST/SEMATECH e-Handbook 8.4.1.2: shape 1.7208, scale 606.528, log-likelihood −75.135',
    steps: [
      'r = 10 known values, mean of their logarithms 5.508053; ten run-outs count with 500 in the sums',
      'try k = 1.720797: Σ x^k = 614781.6, Σ x^k ln x / Σ x^k = 6.089179, less 1/1.720797 = 0.581126: 5.508053, as wanted',
      'scale = (614781.6 / 10)^(1/1.720797) = 606.5276',
      'logLikelihood = Σ known (ln k − ln scale + (k − 1) ln(x/scale)) − Σ all (x/scale)^k = −65.134618 − 10 = −75.134618',
    ],
  },
  compute({ values: list, distribution, threshold }: z.infer<typeof input>) {
    const { distribution: fitted, logLikelihood, andersonDarling } = fitDistribution(list, distribution, threshold);
    const censored = list.filter(({ censored: kind }) => kind !== 'none').length;
    return {
      parameters: fitted.parameters,
      logLikelihood,
      ...present({ andersonDarling }),
      method: `maximum likelihood, ${distribution}${threshold ? ' with threshold by profile likelihood' : ''}`,
      source: 'Lawless, Statistical Models and Methods for Lifetime Data; NIST/SEMATECH e-Handbook 8.4.1.2',
      notes: notesWhere(
        [
          censored > 0,
          `${censored} of ${list.length} values are censored; andersonDarling is absent, since it needs every value`,
        ],
        [censored > list.length / 2, 'more than half of the values are censored: the fit leans on the chosen family'],
        [distribution === 'normal' || distribution === 'lognormal', 'the standard deviation has divisor n'],
        [threshold, 'a threshold is poorly determined by small samples'],
      ),
    };
  },
});
