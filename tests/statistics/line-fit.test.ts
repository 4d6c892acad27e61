import fc from 'fast-check';
import { runCalculation } from '../../src/calculations/calculation.js';
import { calculationNamed } from '../../src/calculations/catalogue.js';
import { lineFit } from '../../src/statistics/line-fit.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { relativeError } from '../support/numbers.js';

/** NIST StRD linear regression, Norris: 36 points, certified values below (read from memory of the data set). */
const NORRIS_X = [
  0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777, 558.2, 0.4, 0.6, 775.5, 666.9, 338, 447.5, 11.6, 556,
  228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999, 779, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
];
const NORRIS_Y = [
  0.1, 338.8, 118.1, 888, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8,
  557.7, 228.3, 998, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
];

describe('line fit against published values', () => {
  it(titleOf(reference('A9-REG-CARS')), () => {
    const item = reference('A9-REG-CARS');
    const { x, y, predict_at } = item.inputs;
    const fit = lineFit(x, y, 0.95, predict_at);
    const found: [string, number][] = [
      ['intercept', fit.intercept],
      ['se intercept', fit.standardErrors.intercept],
      ['slope', fit.slope],
      ['se slope', fit.standardErrors.slope],
      ['t slope', fit.slopeT!],
      ['p slope', fit.slopeP!],
      ['residual sd', fit.residualSd],
      ['R-squared', fit.rSquared!],
      ['F', fit.slopeT! ** 2],
    ];
    for (const [name, value] of found) expect(relativeError(value, recomputed(item, name))).toBeLessThan(1e-9);
    const list = (name: string) => item.expected.find((each) => each.name === name)!.recomputed as number[];
    const means = fit.predictions!.flatMap((each) => [each.fit, each.confidenceLower, each.confidenceUpper]);
    const singles = fit.predictions!.flatMap((each) => [each.fit, each.predictionLower, each.predictionUpper]);
    list('fit, 95% confidence limits at x=10 then x=20').forEach((value, i) => {
      expect(relativeError(means[i]!, value)).toBeLessThan(1e-10);
    });
    list('fit, 95% prediction limits at x=10 then x=20').forEach((value, i) => {
      expect(relativeError(singles[i]!, value)).toBeLessThan(1e-10);
    });
  });

  it('NIST StRD Norris, certified values', () => {
    const { slope, intercept, standardErrors, residualSd, rSquared } = lineFit(NORRIS_X, NORRIS_Y);
    expect(relativeError(intercept, -0.262323073774029)).toBeLessThan(1e-11);
    expect(relativeError(slope, 1.00211681802045)).toBeLessThan(1e-12);
    expect(relativeError(standardErrors.intercept, 0.232818234301152)).toBeLessThan(1e-9);
    expect(relativeError(standardErrors.slope, 0.000429796848199937)).toBeLessThan(1e-9);
    expect(relativeError(residualSd, 0.884796396144373)).toBeLessThan(1e-9);
    expect(relativeError(rSquared!, 0.999993745883712)).toBeLessThan(1e-12);
  });
});

describe('line fit, properties', () => {
  const point = fc.record({ x: fc.integer({ min: -99, max: 99 }), y: fc.integer({ min: -99, max: 99 }) });

  it('leaves residuals that sum to nothing and do not follow x', () => {
    fc.assert(
      fc.property(fc.array(point, { minLength: 3, maxLength: 30 }), (points) => {
        fc.pre(new Set(points.map(({ x }) => x)).size > 1);
        const x = points.map((each) => each.x);
        const y = points.map((each) => each.y);
        const { slope, intercept } = lineFit(x, y);
        const residuals = y.map((value, i) => value - intercept - slope * x[i]!);
        expect(Math.abs(residuals.reduce((sum, r) => sum + r, 0))).toBeLessThan(1e-7);
        expect(Math.abs(residuals.reduce((sum, r, i) => sum + r * x[i]!, 0))).toBeLessThan(1e-5);
      }),
    );
  });

  it('takes points on a line as they are, and says what is then absent', () => {
    const answer = runCalculation(calculationNamed('line-fit'), { x: [1, 2, 3], y: [2, 4, 6], predictAt: [10] });
    expect(answer).toMatchObject({
      slope: 2,
      intercept: 0,
      residualSd: 0,
      rSquared: 1,
      predictions: [{ x: 10, fit: 20 }],
    });
    expect('slopeT' in answer).toBe(false);
    const flat = runCalculation(calculationNamed('line-fit'), { x: [1, 2, 3], y: [5, 5, 5] });
    expect('rSquared' in flat).toBe(false);
    expect(flat.notes.join()).toContain('rSquared is absent');
  });
});

describe('line fit refuses', () => {
  it.each([
    [{ x: [], y: [] }, 'x'],
    [{ x: [1, 2], y: [1, 2] }, 'x'],
    [{ x: [1, 2, 3], y: [1, 2, 3, 4] }, 'y'],
    [{ x: [2, 2, 2], y: [1, 2, 3] }, 'x'],
    [{ x: [1, 2, 3], y: [1, 2, 4], confidence: 1.5 }, 'confidence'],
    [{ x: [1, 2, 3], y: [1, 2, 4], predictAt: [Number.NaN] }, 'predictAt.0'],
  ])('%j and names %s', (input, field) => {
    expect(() => runCalculation(calculationNamed('line-fit'), input)).toThrow(expect.objectContaining({ field }));
  });
});
