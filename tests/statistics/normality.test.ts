import fc from 'fast-check';
import { runCalculation } from '../../src/calculations/calculation.js';
import { calculationNamed } from '../../src/calculations/catalogue.js';
import { andersonDarling, shapiroWilk } from '../../src/statistics/normality.js';
import { normalityWeight } from '../../src/statistics/normality-weight.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { normalNumbers, relativeError } from '../support/numbers.js';

const NORMALITY_ITEMS = [
  'A6-R-CARS-DIST',
  'A6-R-PLANTGROWTH',
  'A6-R-STACKLOSS',
  'A6-R-TREES-VOLUME',
  'A6-R-WOMEN-HEIGHT',
  'A6-R-WOMEN-WEIGHT',
  'A6-SW-R94',
  'A6-SW-X1',
];

describe('normality against published values', () => {
  it.each(NORMALITY_ITEMS.map(reference).map((item) => [titleOf(item), item] as const))('%s', (_, item) => {
    const { statistic, adjusted, p } = andersonDarling(item.inputs.data);
    expect(relativeError(statistic, recomputed(item, 'Anderson-Darling A2 (mean, sd estimated, n-1)'))).toBeLessThan(
      1e-9,
    );
    expect(relativeError(adjusted, recomputed(item, 'A2* = A2(1+0.75/n+2.25/n^2)'))).toBeLessThan(1e-9);
    expect(relativeError(p, recomputed(item, "p from A2* (D'Agostino and Stephens)"))).toBeLessThan(1e-9);
    const royston = shapiroWilk(item.inputs.data);
    expect(Math.abs(royston.w - recomputed(item, 'Shapiro-Wilk W'))).toBeLessThan(1e-6);
    expect(relativeError(royston.p, recomputed(item, 'Shapiro-Wilk p'))).toBeLessThan(1e-4);
  });

  it(titleOf(reference('A6-HEATFLOW')), () => {
    const item = reference('A6-HEATFLOW');
    const { w, p } = shapiroWilk(item.inputs.data);
    expect(Math.abs(w - recomputed(item, 'W'))).toBeLessThan(1e-6);
    expect(Math.abs(p - recomputed(item, 'p'))).toBeLessThan(2e-5);
    const { statistic } = andersonDarling(item.inputs.data);
    expect(relativeError(statistic, recomputed(item, 'A2 (Anderson-Darling, unmodified)'))).toBeLessThan(1e-9);
  });

  it(titleOf(reference('A6-AD-V10')), () => {
    const item = reference('A6-AD-V10');
    expect(relativeError(andersonDarling(item.inputs.data).statistic, recomputed(item, 'A2'))).toBeLessThan(1e-9);
  });

  // scipy 1.17 (a general-purpose library), stats.shapiro; sizes on both sides of the switch at 11.
  it.each([
    [[1, 2, 4], 0.964285714286, 0.636886845029],
    [[1, 2, 4, 9], 0.894686270855, 0.405147211248],
    [[1, 2, 4, 9, 3], 0.866960711058, 0.254333840178],
    [[1, 2, 4, 9, 3, 20], 0.790773378887, 0.0484700745037],
    [[1, 2, 4, 9, 3, 20, 5, 6, 7, 8, 11], 0.87665966275, 0.0943429884265],
    [[1, 2, 4, 9, 3, 20, 5, 6, 7, 8, 11, 10], 0.89910013187, 0.15443327312],
  ])('Shapiro–Wilk of %j', (values, w, p) => {
    const found = shapiroWilk(values);
    expect(relativeError(found.w, w)).toBeLessThan(1e-9);
    expect(relativeError(found.p, p)).toBeLessThan(1e-7);
  });
});

describe('normality, properties', () => {
  const sample = fc.array(fc.integer({ min: -1000, max: 1000 }), { minLength: 8, maxLength: 60 });

  it('does not depend on unit and origin', () => {
    fc.assert(
      fc.property(
        sample,
        fc.integer({ min: -50, max: 50 }),
        fc.integer({ min: 1, max: 40 }),
        (values, shift, scale) => {
          fc.pre(new Set(values).size > 2);
          const moved = values.map((value) => shift + scale * value);
          expect(relativeError(andersonDarling(moved).statistic, andersonDarling(values).statistic)).toBeLessThan(1e-9);
          expect(Math.abs(shapiroWilk(moved).w - shapiroWilk(values).w)).toBeLessThan(1e-12);
        },
      ),
    );
  });

  it('gives probabilities, with W between 0 and 1', () => {
    fc.assert(
      fc.property(sample, (values) => {
        fc.pre(new Set(values).size > 1);
        const { w, p } = shapiroWilk(values);
        const ad = andersonDarling(values);
        for (const probability of [w, p, ad.p]) {
          expect(probability).toBeGreaterThanOrEqual(0);
          expect(probability).toBeLessThanOrEqual(1);
        }
      }),
    );
  });

  it('rejects normal samples about as often as the level says', () => {
    const normal = normalNumbers(7);
    const runs = 2000;
    let shapiroRejects = 0;
    let andersonRejects = 0;
    for (let run = 0; run < runs; run++) {
      const values = Array.from({ length: 20 }, normal);
      if (shapiroWilk(values).p < 0.05) shapiroRejects += 1;
      if (andersonDarling(values).p < 0.05) andersonRejects += 1;
    }
    // 5 % of 2000 with a standard deviation of 0.49 %: four of these on either side.
    expect(Math.abs(shapiroRejects / runs - 0.05)).toBeLessThan(0.02);
    expect(Math.abs(andersonRejects / runs - 0.05)).toBeLessThan(0.02);
  });

  it('stays finite with one value a thousand standard deviations out', () => {
    const values = [...Array.from({ length: 4000 }, (_, i) => (i % 7) / 1e6), 1000];
    expect(Number.isFinite(andersonDarling(values).statistic)).toBe(true);
    expect(andersonDarling(values).p).toBeLessThan(1e-20);
  });

  it('leaves Shapiro–Wilk out above 5000 values and says why', () => {
    const normal = normalNumbers(3);
    const values = Array.from({ length: 5001 }, normal);
    const answer = runCalculation(calculationNamed('normality'), { values });
    expect('shapiroWilk' in answer).toBe(false);
    expect(answer.notes.join()).toContain('5000');
  });
});

describe('normality refuses', () => {
  it.each([[[]], [[1]], [[1, 2]], [[3, 3, 3, 3]]])('%j', (values) => {
    expect(() => runCalculation(calculationNamed('normality'), { values })).toThrow(
      expect.objectContaining({ field: 'values' }),
    );
    expect(() => shapiroWilk(values)).toThrow(expect.objectContaining({ field: 'values' }));
  });

  it('a value that is not finite', () => {
    expect(() => andersonDarling([1, 2, Number.NaN])).toThrow(expect.objectContaining({ field: 'values.2' }));
  });
});

/** What chance finds of values drawn from a distribution, by the test at 5 %. */
function foundIn(n: number, draws: number, draw: () => number): number {
  let found = 0;
  for (let run = 0; run < draws; run += 1) if (shapiroWilk(Array.from({ length: n }, draw)).p < 0.05) found += 1;
  return (100 * found) / draws;
}

it.each(process.env.LOTWRIGHT_TEST_LONG ? [10, 15, 20, 25, 30, 40, 50, 75, 100] : [10, 25])(
  'finds what it is said to find of %d values, and takes one in twenty for nothing',
  (n) => {
    const normal = normalNumbers(n);
    const chiSquare4 = () => normal() ** 2 + normal() ** 2 + normal() ** 2 + normal() ** 2;
    const draws = process.env.LOTWRIGHT_TEST_LONG ? 4000 : 1000;
    // Four standard errors, and the five per cent by which the table was rounded down.
    const error = (percent: number) => 4 * Math.sqrt((percent * (100 - percent)) / draws);
    const { skewed, heavyTailed } = normalityWeight(n)!;
    for (const [said, draw] of [
      [skewed, chiSquare4],
      [heavyTailed, () => normal() / Math.sqrt(chiSquare4() / 4)],
    ] as const) {
      const found = foundIn(n, draws, draw);
      expect(found).toBeGreaterThan(said - error(said));
      expect(found).toBeLessThan(said + 10 + error(said));
    }
    expect(Math.abs(foundIn(n, draws, normal) - 5)).toBeLessThan(error(5));
  },
);
