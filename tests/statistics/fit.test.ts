import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { runCalculation } from '../../src/calculations/calculation.js';
import { calculationNamed } from '../../src/calculations/catalogue.js';
import { type DistributionName, fitDistribution } from '../../src/statistics/fit.js';
import { quantileOf } from '../../src/statistics/fitted-distributions.js';
import type { CensoredValue } from '../../src/statistics/inputs.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { normalNumbers, relativeError, uniformNumbers } from '../support/numbers.js';

interface KnownFit {
  readonly title: string;
  readonly distribution: DistributionName;
  readonly threshold: boolean;
  readonly values: readonly string[];
  readonly parameters: Readonly<Record<string, string>>;
  readonly logLikelihood: string;
}

interface FitAnswer {
  readonly parameters: Readonly<Record<string, number>>;
  readonly logLikelihood: number;
  readonly andersonDarling?: number;
}

const known = JSON.parse(readFileSync(new URL('../reference/fits.json', import.meta.url), 'utf8')) as {
  readonly fits: readonly KnownFit[];
};
const NAMES: readonly DistributionName[] = ['normal', 'lognormal', 'weibull', 'gumbel', 'gamma'];

function fitOf(values: readonly unknown[], distribution: string, threshold = false): FitAnswer {
  return runCalculation(calculationNamed('fit'), { values, distribution, threshold }) as never as FitAnswer;
}

const allKnown = (values: readonly number[]): CensoredValue[] =>
  values.map((value) => ({ value, censored: 'none' }) as const);

describe('fits against published values', () => {
  it(titleOf(reference('A6-WEIBULL-BALL')), () => {
    const item = reference('A6-WEIBULL-BALL');
    const { parameters, logLikelihood } = fitOf(item.inputs.data, 'weibull');
    expect(relativeError(parameters.shape!, recomputed(item, 'shape'))).toBeLessThan(1e-9);
    expect(relativeError(parameters.scale!, recomputed(item, 'scale'))).toBeLessThan(1e-9);
    expect(relativeError(logLikelihood, recomputed(item, 'log-likelihood'))).toBeLessThan(1e-9);
  });

  it(titleOf(reference('A6-WEIBULL-NIST')), () => {
    const item = reference('A6-WEIBULL-NIST');
    const { failures, censored_at, n_censored } = item.inputs;
    const { parameters, logLikelihood } = fitOf([...failures, ...Array(n_censored).fill(`>${censored_at}`)], 'weibull');
    expect(relativeError(parameters.shape!, recomputed(item, 'shape'))).toBeLessThan(1e-6);
    expect(relativeError(parameters.scale!, recomputed(item, 'scale'))).toBeLessThan(1e-6);
    expect(relativeError(logLikelihood, recomputed(item, 'log-likelihood'))).toBeLessThan(1e-9);
  });

  it(titleOf(reference('A6-LOGNORMAL-BALL')), () => {
    const item = reference('A6-LOGNORMAL-BALL');
    const { parameters, logLikelihood } = fitOf(item.inputs.data, 'lognormal');
    expect(relativeError(parameters.logMean!, recomputed(item, 'mu'))).toBeLessThan(1e-9);
    const sigma = 'sigma (maximum likelihood, divisor n)';
    expect(relativeError(parameters.logSd!, recomputed(item, sigma))).toBeLessThan(1e-9);
    expect(relativeError(logLikelihood, recomputed(item, 'maximum log-likelihood'))).toBeLessThan(1e-9);
  });

  it.each(known.fits.map((fit) => [fit.distribution, fit.title, fit.threshold, fit] as const))(
    '%s, %s, threshold %s: the zero of the gradient in 30 digits (mpmath)',
    (_, __, ___, fit) => {
      const found = fitOf(fit.values, fit.distribution, fit.threshold);
      expect(Object.keys(found.parameters).sort()).toEqual(Object.keys(fit.parameters).sort());
      for (const [name, value] of Object.entries(fit.parameters)) {
        expect(relativeError(found.parameters[name]!, Number(value))).toBeLessThan(1e-8);
      }
      expect(relativeError(found.logLikelihood, Number(fit.logLikelihood))).toBeLessThan(1e-10);
    },
  );
});

describe('fits, properties', () => {
  const positives = fc.array(fc.integer({ min: 1, max: 900 }), { minLength: 5, maxLength: 30 });

  it('takes a limit far from all values as no information: fits approach the uncensored ones', () => {
    fc.assert(
      fc.property(positives, (values) => {
        fc.pre(new Set(values).size > 3);
        for (const name of NAMES) {
          const plain = fitDistribution(allKnown(values), name);
          const limited = fitDistribution([...allKnown(values), { value: 1e9, censored: 'below' }], name);
          const a = Object.values(plain.distribution.parameters) as number[];
          const b = Object.values(limited.distribution.parameters) as number[];
          a.forEach((parameter, i) => {
            expect(Math.abs(parameter - b[i]!)).toBeLessThan(1e-6 * Math.max(1, Math.abs(parameter)));
          });
        }
      }),
      { numRuns: 40 },
    );
  });

  it('moves with the unit: scales grow, shapes stay', () => {
    fc.assert(
      fc.property(positives, fc.double({ min: 1e-4, max: 1e4, noNaN: true }), (values, factor) => {
        fc.pre(new Set(values).size > 3);
        const scaled = values.map((value) => value * factor);
        const weibull = fitOf(values, 'weibull').parameters;
        const weibullScaled = fitOf(scaled, 'weibull').parameters;
        expect(relativeError(weibullScaled.shape!, weibull.shape!)).toBeLessThan(1e-7);
        expect(relativeError(weibullScaled.scale!, factor * weibull.scale!)).toBeLessThan(1e-7);
        const gamma = fitOf(values, 'gamma').parameters;
        const gammaScaled = fitOf(scaled, 'gamma').parameters;
        expect(relativeError(gammaScaled.shape!, gamma.shape!)).toBeLessThan(1e-7);
        expect(relativeError(gammaScaled.rate! * factor, gamma.rate!)).toBeLessThan(1e-7);
      }),
      { numRuns: 60 },
    );
  });

  it('puts the mean where the theory says: gamma shape/rate, and mirrored Gumbel is smallest-extreme Weibull', () => {
    fc.assert(
      fc.property(positives, (values) => {
        fc.pre(new Set(values).size > 3);
        const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
        const { shape, rate } = fitOf(values, 'gamma').parameters;
        expect(relativeError(shape! / rate!, mean)).toBeLessThan(1e-9);
        const weibull = fitOf(values, 'weibull').parameters;
        const mirrored = fitOf(
          values.map((value) => -Math.log(value)),
          'gumbel',
        ).parameters;
        expect(relativeError(1 / mirrored.scale!, weibull.shape!)).toBeLessThan(1e-7);
        expect(Math.abs(-mirrored.location! - Math.log(weibull.scale!))).toBeLessThan(1e-7);
      }),
      { numRuns: 60 },
    );
  });

  it('finds the parameters that made a large sample, censored below and above', () => {
    const uniform = uniformNumbers(11);
    const values = Array.from({ length: 20_000 }, () =>
      quantileOf({ name: 'weibull', parameters: { shape: 2.5, scale: 10 } }, uniform()),
    );
    const reported = values.map((value) => (value < 4 ? '<4' : value > 14 ? '>14' : value));
    const { shape, scale } = fitOf(reported, 'weibull').parameters;
    // Standard errors are about 0.8 % and 0.3 %; four of these.
    expect(relativeError(shape!, 2.5)).toBeLessThan(0.032);
    expect(relativeError(scale!, 10)).toBeLessThan(0.012);
    const normal = normalNumbers(12);
    const below = Array.from({ length: 20_000 }, () => Math.exp(1 + 0.5 * normal())).map((v) => (v < 2 ? '<2' : v));
    const { logMean, logSd } = fitOf(below, 'lognormal').parameters;
    expect(Math.abs(logMean! - 1)).toBeLessThan(0.02);
    expect(Math.abs(logSd! - 0.5)).toBeLessThan(0.02);
  });

  it('is exact for tightly bunched values a long way from zero', () => {
    const values = Array.from({ length: 50 }, (_, i) => 1000 + i / 1e4);
    const { shape, rate } = fitOf(values, 'gamma').parameters;
    const mean = 1000 + 24.5 / 1e4;
    // For a small coefficient of variation c the shape is 1/c² + 1/6 − … + skewness, with divisor n in c.
    const variance = (50 * 50 - 1) / 12 / 1e8;
    expect(relativeError(shape!, (mean * mean) / variance)).toBeLessThan(1e-6);
    expect(relativeError(shape! / rate!, mean)).toBeLessThan(1e-12);
    for (const name of NAMES) expect(Number.isFinite(fitOf(values, name).andersonDarling!)).toBe(true);
  });
});

describe('fit, absent quantities', () => {
  it('gives no Anderson–Darling with censored values, and says why', () => {
    const answer = runCalculation(calculationNamed('fit'), { values: [1, 2, '>3', 2.5], distribution: 'weibull' });
    expect('andersonDarling' in answer).toBe(false);
    expect(answer.notes.join()).toContain('censored');
  });
});

describe('fit refuses', () => {
  it.each([
    [{ values: [], distribution: 'normal' }, 'values'],
    [{ values: [1], distribution: 'normal' }, 'values'],
    [{ values: [2, 2, 2], distribution: 'normal' }, 'values'],
    [{ values: [2, 2, 2], distribution: 'weibull' }, 'values'],
    [{ values: [2, 2, '>1.5'], distribution: 'weibull' }, 'values'],
    [{ values: [2, 2, 2], distribution: 'gamma' }, 'values'],
    [{ values: ['>3', '>4'], distribution: 'weibull' }, 'values'],
    [{ values: [1, 0, 2], distribution: 'lognormal' }, 'values.1'],
    [{ values: [1, -2, 2], distribution: 'gamma' }, 'values.1'],
    [{ values: [1, 'none', 2], distribution: 'gamma' }, 'values.1'],
    [{ values: [1, 2, 3], distribution: 'poisson' }, 'distribution'],
    [{ values: [1, 2, 3], distribution: 'normal', threshold: true }, 'threshold'],
    [{ values: [1, 2, 3], distribution: 'weibull', threshold: 'yes' }, 'threshold'],
    [{ values: [9, 1e8, 8e-141, 9e139], distribution: 'gamma' }, 'values'],
    // Skewed to the left: no lower end fits better than none.
    [{ values: [1, 5, 7, 8, 8.5, 8.8, 9, 9.1], distribution: 'lognormal', threshold: true }, 'threshold'],
  ])('%j and names %s', (input, field) => {
    expect(() => runCalculation(calculationNamed('fit'), input)).toThrow(expect.objectContaining({ field }));
  });
});
