import { z } from 'zod';
import { boxCoxLogLikelihood, boxCox as computeBoxCox } from '../statistics/box-cox.js';
import { finite, values } from '../statistics/inputs.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  values: values('the measured values, all above zero', 3),
  lambdas: z.array(finite('a power')).default([]).describe('powers whose log-likelihood is wanted as well'),
});

export const boxCox: AnyCalculation = defineCalculation({
  name: 'box-cox',
  purpose: 'The power that makes positive values most nearly normal',
  input,
  output: {
    lambda: 'power with the largest log-likelihood, not rounded',
    logLikelihood: 'profile log-likelihood at lambda',
    profile: '[lambda, logLikelihood] for each of the lambdas asked',
  },
  formula: [
    'y = (x^λ − 1)/λ, or ln x for λ = 0',
    'logLikelihood(λ) = −(n/2) ln(Σ(y − mean of y)²/n) + (λ − 1) Σ ln x',
    'lambda = where this is largest (it has a single peak)',
  ].join('\n'),
  source: 'Box and Cox, J. R. Statist. Soc. B 26 (1964); NIST/SEMATECH e-Handbook 6.5.2',
  example: {
    input: { values: [1, 2, 4, 7, 12], lambdas: [0, 0.5, 1] },
    source: 'worked by hand',
    steps: [
      'Σ ln x = 0 + 0.693147 + 1.386294 + 1.945910 + 2.484907 = 6.510258',
      'λ = 0: y = ln x, mean 1.302052, Σ(y − mean)²/5 = 0.777380; −2.5 ln 0.777380 − 6.510258 = −5.880693',
      'λ = 0.5: y = 2(√x − 1) = 0, 0.828427, 2, 3.291503, 4.928203; Σ(y − mean)²/5 = 3.079044; −2.5 ln 3.079044 − 3.255129 = −6.066677',
      'λ = 1: y = x − 1, Σ(y − mean)²/5 = 15.76; −2.5 ln 15.76 = −6.893688',
      'the peak lies between λ = 0 and 0.5: lambda = 0.115670, logLikelihood = −5.861710',
    ],
  },
  compute({ values: list, lambdas }: z.infer<typeof input>) {
    return {
      ...computeBoxCox(list),
      profile: lambdas.map((lambda) => [lambda, boxCoxLogLikelihood(list, lambda)] as const),
      method: 'profile log-likelihood, zero of its slope by bisection',
      source: 'Box and Cox (1964); NIST/SEMATECH e-Handbook 6.5.2',
      notes: [
        'variance with divisor n; limits must be transformed with the same power as the values',
        'a power is a description of the data, not a cause: prefer a distribution that the process explains',
      ],
    };
  },
});
