import fc from 'fast-check';
import { runCalculation } from '../../src/calculations/calculation.js';
import { calculationNamed } from '../../src/calculations/catalogue.js';
import { findOutliers, grubbsCritical, tietjenMoore } from '../../src/statistics/outliers.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { relativeError } from '../support/numbers.js';

/** Rosner's data, NIST/SEMATECH e-Handbook 1.3.5.17.3 (from memory; a mistyped value would change the statistics). */
const ROSNER = [
  -0.25, 0.68, 0.94, 1.15, 1.2, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58, 1.65, 1.69, 1.7, 1.76, 1.77,
  1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.1, 2.14, 2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.4, 2.47, 2.54, 2.62, 2.64,
  2.9, 2.92, 2.92, 2.93, 3.21, 3.26, 3.3, 3.59, 3.68, 4.3, 4.64, 5.34, 5.42, 6.01,
];

describe('outliers against published values', () => {
  it(titleOf(reference('A6-GRUBBS-CRIT-OPEN')), () => {
    const rows = reference('A6-GRUBBS-CRIT-OPEN').expected[0]!.recomputed as number[][];
    for (const [n, one5, one1, two5, two1] of rows as [number, number, number, number, number][]) {
      expect(relativeError(grubbsCritical(n, 0.05, 1), one5)).toBeLessThan(1e-9);
      expect(relativeError(grubbsCritical(n, 0.01, 1), one1)).toBeLessThan(1e-9);
      expect(relativeError(grubbsCritical(n, 0.05, 2), two5)).toBeLessThan(1e-9);
      expect(relativeError(grubbsCritical(n, 0.01, 2), two1)).toBeLessThan(1e-9);
    }
  });

  it(titleOf(reference('A6-GRUBBS-NIST')), () => {
    const item = reference('A6-GRUBBS-NIST');
    const { data, alpha } = item.inputs;
    const one = findOutliers(data, { alpha, sides: 1 });
    expect(relativeError(one.statistics[0]!, recomputed(item, 'G'))).toBeLessThan(1e-9);
    expect(relativeError(one.criticals[0]!, recomputed(item, 'critical value, one-sided'))).toBeLessThan(1e-9);
    expect(one.outlierIndexes.map((index) => data[index - 1])).toEqual([245.57]);
    const two = findOutliers(data, { alpha, sides: 2 });
    expect(relativeError(two.criticals[0]!, recomputed(item, 'critical value, two-sided'))).toBeLessThan(1e-9);
  });

  it('finds Rosner’s three outliers although the first two fail their own test (e-Handbook 1.3.5.17.3)', () => {
    const found = findOutliers(ROSNER, { alpha: 0.05, sides: 2, maximum: 10 });
    // Printed in the handbook, truncated after three decimals.
    const statistics = [3.118, 2.942, 3.179, 2.81, 2.815, 2.848, 2.279, 2.31, 2.101, 2.067];
    const criticals = [3.158, 3.151, 3.143, 3.136, 3.128, 3.12, 3.111, 3.103, 3.094, 3.085];
    statistics.forEach((value, i) => {
      expect(Math.abs(found.statistics[i]! - value)).toBeLessThan(0.0011);
      expect(Math.abs(found.criticals[i]! - criticals[i]!)).toBeLessThan(0.0011);
    });
    expect(found.outlierIndexes.map((index) => ROSNER[index - 1])).toEqual([6.01, 5.42, 5.34]);
  });

  it(titleOf(reference('A6-TIETJEN')), () => {
    const item = reference('A6-TIETJEN');
    expect(relativeError(tietjenMoore(item.inputs.data, item.inputs.k), recomputed(item, 'E_k'))).toBeLessThan(1e-9);
  });
});

describe('outliers, properties', () => {
  it('does not depend on unit, origin and sign', () => {
    const sample = fc.array(fc.integer({ min: -1000, max: 1000 }), { minLength: 6, maxLength: 30 });
    fc.assert(
      fc.property(sample, fc.integer({ min: -9, max: 9 }), (values, shift) => {
        fc.pre(new Set(values).size > 4);
        const test = { alpha: 0.05, sides: 2, maximum: 2 } as const;
        const before = findOutliers(values, test);
        const after = findOutliers(
          values.map((value) => shift - 3 * value),
          test,
        );
        after.statistics.forEach((value, i) => {
          expect(relativeError(value, before.statistics[i]!)).toBeLessThan(1e-9);
        });
        expect(after.criticals).toEqual(before.criticals);
      }),
    );
  });

  it('never lets a statistic pass (n − 1)/√n', () => {
    const { statistics } = findOutliers([0, 0, 0, 0, 1], { alpha: 0.05, sides: 2 });
    expect(statistics[0]).toBeCloseTo(4 / Math.sqrt(5), 12);
  });
});

describe('outlier refuses', () => {
  it.each([
    [{ values: [], alpha: 0.05, sides: 2 }, 'values'],
    [{ values: [1, 2], alpha: 0.05, sides: 2 }, 'values'],
    [{ values: [2, 2, 2], alpha: 0.05, sides: 2 }, 'values'],
    [{ values: [1, 2, 3], alpha: 1, sides: 2 }, 'alpha'],
    [{ values: [1, 2, 3], alpha: 0.05, sides: 3 }, 'sides'],
    [{ values: [1, 2, 3, 4], alpha: 0.05, sides: 2, maximum: 3 }, 'maximum'],
    [{ values: [1, 1, 1, 1, 9], alpha: 0.05, sides: 2, maximum: 2 }, 'values'],
    [{ values: [1, 2, 3] }, 'alpha'],
  ])('%j and names %s', (input, field) => {
    expect(() => runCalculation(calculationNamed('outlier'), input)).toThrow(expect.objectContaining({ field }));
  });

  it('a Tietjen–Moore count that leaves nothing', () => {
    expect(() => tietjenMoore([1, 2, 3], 2)).toThrow(expect.objectContaining({ field: 'k' }));
  });
});
