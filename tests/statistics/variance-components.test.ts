import fc from 'fast-check';
import { runCalculation } from '../../src/calculations/calculation.js';
import { calculationNamed } from '../../src/calculations/catalogue.js';
import { varianceComponents } from '../../src/statistics/variance-components.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { relativeError } from '../support/numbers.js';

/** −2 ln of the normal likelihood of one group by its covariance matrix, the slow way; for checks only. */
function minusTwoLogLikelihood(groups: readonly number[][], mean: number, between: number, within: number): number {
  return groups.reduce((total, group) => {
    const n = group.length;
    const groupMean = group.reduce((sum, value) => sum + value, 0) / n;
    const logDeterminant = (n - 1) * Math.log(within) + Math.log(within + n * between);
    const inside = group.reduce((sum, value) => sum + (value - groupMean) ** 2, 0) / within;
    const outside = (n * (groupMean - mean) ** 2) / (within + n * between);
    return total + n * Math.log(2 * Math.PI) + logDeterminant + inside + outside;
  }, 0);
}

describe('variance components', () => {
  it(titleOf(reference('A9-VC-DYESTUFF')), () => {
    const item = reference('A9-VC-DYESTUFF');
    const { groups } = item.inputs;
    const anova = varianceComponents(groups, 'anova');
    const reml = varianceComponents(groups, 'reml');
    const ml = varianceComponents(groups, 'ml');
    const between = recomputed(item, 'variance between (ANOVA = REML)');
    expect(relativeError(anova.between, between)).toBeLessThan(1e-9);
    expect(relativeError(reml.between, between)).toBeLessThan(1e-9);
    expect(relativeError(ml.between, recomputed(item, 'variance between (ML)'))).toBeLessThan(1e-9);
    for (const { grandMean, within } of [anova, reml, ml]) {
      expect(relativeError(grandMean, recomputed(item, 'grand mean'))).toBeLessThan(1e-12);
      expect(relativeError(within, recomputed(item, 'MS within'))).toBeLessThan(1e-9);
    }
    expect(relativeError(reml.intraclassCorrelation, recomputed(item, 'intraclass correlation'))).toBeLessThan(1e-9);
    const criterion = recomputed(item, 'REML criterion (-2 log L)');
    expect(relativeError(reml.minusTwoLogLikelihood!, criterion)).toBeLessThan(1e-9);
  });

  it(titleOf(reference('A9-VC-SIRSTV')), () => {
    const item = reference('A9-VC-SIRSTV');
    for (const method of ['anova', 'reml'] as const) {
      const found = varianceComponents(item.inputs.groups, method);
      expect(relativeError(found.between, recomputed(item, 'variance between'))).toBeLessThan(1e-9);
      expect(relativeError(found.within, recomputed(item, 'variance within'))).toBeLessThan(1e-9);
      expect(relativeError(found.intraclassCorrelation, recomputed(item, 'intraclass correlation'))).toBeLessThan(1e-9);
    }
  });

  it('at the edge takes all values together, which is not the mean square within', () => {
    // Group means equal: between is negative by mean squares.
    const groups = [
      [1, 5],
      [2, 4],
      [0, 6],
    ];
    const anova = varianceComponents(groups, 'anova');
    // Within: (8 + 2 + 18)/3; between: (0 − 28/3)/2.
    expect(anova.within).toBeCloseTo(28 / 3, 12);
    expect(anova.between).toBeCloseTo(-14 / 3, 12);
    const reml = varianceComponents(groups, 'reml');
    expect(reml.between).toBe(0);
    expect(reml.within).toBeCloseTo(28 / 5, 12);
    expect(varianceComponents(groups, 'ml').within).toBeCloseTo(28 / 6, 12);
  });

  const group = fc.array(fc.integer({ min: -100, max: 100 }), { minLength: 2, maxLength: 6 });
  const unequal = fc.array(group, { minLength: 3, maxLength: 7 });

  it('maximum likelihood: no other point nearby is more likely (likelihood by covariance)', () => {
    fc.assert(
      fc.property(unequal, (groups) => {
        fc.pre(groups.some((values) => new Set(values).size > 1));
        const { grandMean, between, within, minusTwoLogLikelihood: best } = varianceComponents(groups, 'ml');
        const scale = Math.max(1, Math.abs(best!));
        expect(Math.abs(minusTwoLogLikelihood(groups, grandMean, between, within) - best!)).toBeLessThan(1e-9 * scale);
        for (const factor of [0.99, 1.01]) {
          const others = [
            minusTwoLogLikelihood(groups, grandMean, between, within * factor),
            minusTwoLogLikelihood(groups, grandMean, between * factor + (factor > 1 ? 1e-3 : 0), within),
            minusTwoLogLikelihood(groups, grandMean + (factor - 1) * 10, between, within),
          ];
          for (const other of others) expect(other).toBeGreaterThanOrEqual(best! - 1e-9 * scale);
        }
      }),
    );
  });

  it('equal sizes: restricted likelihood equals mean squares wherever those are positive', () => {
    const balanced = fc.array(fc.array(fc.integer({ min: -99, max: 99 }), { minLength: 4, maxLength: 4 }), {
      minLength: 3,
      maxLength: 8,
    });
    fc.assert(
      fc.property(balanced, (groups) => {
        fc.pre(groups.some((values) => new Set(values).size > 1));
        const anova = varianceComponents(groups, 'anova');
        const reml = varianceComponents(groups, 'reml');
        if (anova.between > 1e-6) {
          expect(relativeError(reml.between, anova.between)).toBeLessThan(1e-6);
          expect(relativeError(reml.within, anova.within)).toBeLessThan(1e-6);
        } else if (anova.between < 0) {
          expect(reml.between).toBe(0);
        }
      }),
    );
  });

  it('does not depend on the origin, and follows the unit squared', () => {
    fc.assert(
      fc.property(unequal, (groups) => {
        fc.pre(groups.some((values) => new Set(values).size > 1));
        const moved = groups.map((values) => values.map((value) => 1e6 + 8 * value));
        for (const method of ['anova', 'reml', 'ml'] as const) {
          const before = varianceComponents(groups, method);
          const after = varianceComponents(moved, method);
          expect(Math.abs(after.between / 64 - before.between)).toBeLessThan(1e-6 * (1 + Math.abs(before.between)));
          expect(relativeError(after.within / 64, before.within)).toBeLessThan(1e-6);
        }
      }),
    );
  });

  it.each([
    [{ groups: [], method: 'reml' }, 'groups'],
    [{ groups: [[1, 2]], method: 'reml' }, 'groups'],
    [{ groups: [[1], [2]], method: 'anova' }, 'groups'],
    [
      {
        groups: [
          [1, 1],
          [2, 2],
        ],
        method: 'ml',
      },
      'groups',
    ],
    [{ groups: [[1, 2], []], method: 'ml' }, 'groups.1'],
    [
      {
        groups: [
          [1, 2],
          [2, 3],
        ],
        method: 'bayes',
      },
      'method',
    ],
  ])('refuses %j and names %s', (input, field) => {
    expect(() => runCalculation(calculationNamed('variance-components'), input)).toThrow(
      expect.objectContaining({ field }),
    );
  });
});
