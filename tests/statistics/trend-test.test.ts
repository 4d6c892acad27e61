import fc from 'fast-check';
import { runCalculation } from '../../src/calculations/calculation.js';
import { calculationNamed } from '../../src/calculations/catalogue.js';
import { kendallUpperTail, theilSenIntercept, trendTest } from '../../src/statistics/trend-test.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { relativeError } from '../support/numbers.js';

describe('trend test against published values', () => {
  it.each(['A9-MK-EPA11', 'A9-MK-NHTEMP', 'A9-MK-WIS'].map(reference).map((item) => [titleOf(item), item] as const))(
    '%s',
    (_, item) => {
      const { data } = item.inputs;
      const found = trendTest(data);
      const pairs = (data.length * (data.length - 1)) / 2;
      const expected: [string, number][] = [
        ['S', found.s],
        ['variance of S (tie-corrected)', found.variance],
        ['Z (continuity-corrected)', found.z],
        ['two-sided p (normal)', found.p],
        ['tau-a', found.s / pairs],
        ['Theil-Sen slope per step', found.slope],
      ];
      for (const [name, value] of expected) expect(relativeError(value, recomputed(item, name))).toBeLessThan(1e-9);
    },
  );

  it(titleOf(reference('A9-KENDALL-HW')), () => {
    const item = reference('A9-KENDALL-HW');
    const { x, y } = item.inputs;
    const { s, exactP } = trendTest(y, x);
    expect((s + 36) / 2).toBe(recomputed(item, 'T (concordant pairs)'));
    expect(relativeError(s / 36, recomputed(item, 'tau'))).toBeLessThan(1e-9);
    expect(relativeError(exactP!, recomputed(item, 'two-sided exact p'))).toBeLessThan(1e-9);
  });

  it(titleOf(reference('A9-SEN')), () => {
    const item = reference('A9-SEN');
    const { x, y, confidence } = item.inputs;
    const found = trendTest(y, x, confidence);
    expect(relativeError(found.slope, recomputed(item, 'slope'))).toBeLessThan(1e-9);
    expect(relativeError(found.slopeLower, recomputed(item, 'lower'))).toBeLessThan(1e-9);
    expect(relativeError(found.slopeUpper, recomputed(item, 'upper'))).toBeLessThan(1e-9);
    const medians = recomputed(item, 'intercept, median(y) - slope median(x)');
    expect(theilSenIntercept(x, y, found.slope, 'medians')).toBeCloseTo(medians, 9);
    const residuals = recomputed(item, 'intercept, median(y - slope x)');
    expect(theilSenIntercept(x, y, found.slope, 'median-of-residuals')).toBeCloseTo(residuals, 9);
  });

  it.each(reference('A9-MK-NULL-OPEN').expected)('exact upper tail of S, $name (Hollander and Wolfe)', (expected) => {
    const [, n, s] = /n=(\d+), S=(\d+)/.exec(expected.name)!;
    expect(relativeError(kendallUpperTail(Number(n), Number(s)), Number(expected.recomputed))).toBeLessThan(1e-9);
  });
});

describe('trend test, properties', () => {
  const series = fc.array(fc.integer({ min: -50, max: 50 }), { minLength: 4, maxLength: 25 });

  it('turns round with the sign, and the slope follows the units', () => {
    fc.assert(
      fc.property(series, (values) => {
        fc.pre(new Set(values).size > 1);
        const forward = trendTest(values);
        const falling = trendTest(values.map((value) => 5 - 2 * value));
        expect(falling.s + forward.s).toBe(0);
        expect(falling.p).toBeCloseTo(forward.p, 12);
        expect(falling.slope + 2 * forward.slope).toBeCloseTo(0, 9);
        expect(forward.slopeLower).toBeLessThanOrEqual(forward.slope);
        expect(forward.slopeUpper).toBeGreaterThanOrEqual(forward.slope);
      }),
    );
  });

  it('does not depend on the order in which the points are given', () => {
    fc.assert(
      fc.property(series, fc.infiniteStream(fc.nat(1000)), (values, keys) => {
        fc.pre(new Set(values).size > 1);
        const points = values.map((value, time) => ({ value, time, key: keys.next().value as number }));
        const mixed = [...points].sort((a, b) => a.key - b.key);
        const { limitsCutShort: _, ...found } = trendTest(
          mixed.map(({ value }) => value),
          mixed.map(({ time }) => time),
        );
        expect(trendTest(values)).toMatchObject(found);
      }),
    );
  });

  it('gives exact tails that add up over every S', () => {
    for (let n = 2; n <= 10; n++) {
      const largest = (n * (n - 1)) / 2;
      expect(kendallUpperTail(n, -largest)).toBe(1);
      expect(kendallUpperTail(n, 1) + kendallUpperTail(n, 0)).toBeCloseTo(
        largest % 2 === 0 ? 1 : 2 * kendallUpperTail(n, 1),
        12,
      );
    }
  });

  it('says when there are too few pairs for the confidence', () => {
    const answer = runCalculation(calculationNamed('trend-test'), { values: [1, 3, 2], confidence: 0.999 });
    expect(answer.notes.join()).toContain('too few pairs');
  });

  it('takes the largest series', () => {
    const values = Array.from({ length: 5000 }, (_, i) => Math.sin(i) + i / 1000);
    expect(trendTest(values).slope).toBeCloseTo(0.001, 5);
  });
});

describe('trend test refuses', () => {
  it.each([
    [{ values: [] }, 'values'],
    [{ values: [1, 2] }, 'values'],
    [{ values: [2, 2, 2] }, 'values'],
    [{ values: [1, 2, 3], x: [1, 2] }, 'x'],
    [{ values: [1, 2, 3], x: [1, 1, 1] }, 'x'],
    [{ values: [1, 2, 3], confidence: 0 }, 'confidence'],
    [{ values: Array(5001).fill(1) }, 'values'],
  ])('%j and names %s', (input, field) => {
    expect(() => runCalculation(calculationNamed('trend-test'), input)).toThrow(expect.objectContaining({ field }));
  });
});
