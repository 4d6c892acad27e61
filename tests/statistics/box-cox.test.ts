import fc from 'fast-check';
import { runCalculation } from '../../src/calculations/calculation.js';
import { calculationNamed } from '../../src/calculations/catalogue.js';
import { boxCox, boxCoxLogLikelihood } from '../../src/statistics/box-cox.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { relativeError } from '../support/numbers.js';

describe('Box–Cox', () => {
  const item = reference('A6-BOXCOX-NIST');

  it(titleOf(item), () => {
    for (const lambda of [-2, -1, 0, 0.2, 0.3, 1, 2]) {
      const found = boxCoxLogLikelihood(item.inputs.data, lambda);
      expect(relativeError(found, recomputed(item, `l(${lambda})`))).toBeLessThan(1e-9);
    }
    const { lambda, logLikelihood } = boxCox(item.inputs.data);
    expect(Math.abs(lambda - recomputed(item, 'lambda maximising l'))).toBeLessThan(1e-6);
    expect(relativeError(logLikelihood, recomputed(item, 'maximum'))).toBeLessThan(1e-9);
  });

  const positives = fc.array(fc.integer({ min: 1, max: 5000 }), { minLength: 4, maxLength: 40 });

  it('finds a maximum: no nearby power is more likely', () => {
    fc.assert(
      fc.property(positives, (values) => {
        fc.pre(new Set(values).size > 2);
        const { lambda, logLikelihood } = boxCox(values);
        for (const step of [-0.5, -0.01, 0.01, 0.5]) {
          expect(boxCoxLogLikelihood(values, lambda + step)).toBeLessThanOrEqual(logLikelihood + 1e-9);
        }
      }),
    );
  });

  it('does not depend on the unit, and turns round with the reciprocal', () => {
    fc.assert(
      fc.property(positives, fc.double({ min: 1e-3, max: 1e3, noNaN: true }), (values, factor) => {
        fc.pre(new Set(values).size > 2);
        const { lambda } = boxCox(values);
        const tolerance = 1e-6 * Math.max(1, Math.abs(lambda));
        expect(Math.abs(boxCox(values.map((value) => value * factor)).lambda - lambda)).toBeLessThan(tolerance);
        expect(Math.abs(boxCox(values.map((value) => 1 / value)).lambda + lambda)).toBeLessThan(tolerance);
      }),
    );
  });

  it('evaluates powers far out without overflow', () => {
    expect(Number.isFinite(boxCoxLogLikelihood([1, 10, 1000, 1e5], 400))).toBe(true);
  });

  it.each([
    [{ values: [] }, 'values'],
    [{ values: [1, 2] }, 'values'],
    [{ values: [2, 2, 2] }, 'values'],
    [{ values: [1, 0, 3] }, 'values.1'],
    [{ values: [1, 2, -3] }, 'values.2'],
    [{ values: [1, 2, 3], lambdas: [Number.NaN] }, 'lambdas.0'],
  ])('refuses %j and names %s', (input, field) => {
    expect(() => runCalculation(calculationNamed('box-cox'), input)).toThrow(expect.objectContaining({ field }));
  });
});
