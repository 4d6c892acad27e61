import fc from 'fast-check';
import { normalCdf } from '../../src/statistics/distributions.js';
import { oneSidedFactorNatrella } from '../../src/statistics/tolerance.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { normalNumbers, relativeError } from '../support/numbers.js';
import { refusedField, runRow } from './run-row.js';

function factor(n: number, content: number, confidence: number, sides: 1 | 2, method = 'exact'): number {
  return runRow<{ k: number }>('tolerance-factor', { n, content, confidence, sides, method }).k;
}

describe('tolerance factors and intervals', () => {
  it(titleOf(reference('A4-K-GRID-OPEN')), () => {
    const rows = reference('A4-K-GRID-OPEN').expected[0]!.recomputed as readonly number[][];
    expect(rows).toHaveLength(126);
    for (const [confidence, content, n, oneSided, exact, howe, guenther] of rows as readonly [
      number,
      number,
      number,
      ...number[],
    ][]) {
      expect(relativeError(factor(n, content, confidence, 1), oneSided!)).toBeLessThan(1e-9);
      expect(relativeError(factor(n, content, confidence, 2), exact!)).toBeLessThan(1e-9);
      expect(relativeError(factor(n, content, confidence, 2, 'howe'), howe!)).toBeLessThan(1e-9);
      expect(relativeError(factor(n, content, confidence, 2, 'howe-guenther'), guenther!)).toBeLessThan(1e-9);
    }
  });

  it(titleOf(reference('A4-K2-TABLE-OPEN')), () => {
    const item = reference('A4-K2-TABLE-OPEN');
    for (const { name, published } of item.expected) {
      const [, n, content] = /n=(\d+), content ([\d.]+)/.exec(name)!;
      const k = factor(Number(n), Number(content), 0.95, 2);
      expect(relativeError(k, recomputed(item, name))).toBeLessThan(1e-9);
      expect(Math.abs(k - Number(published))).toBeLessThanOrEqual(0.005);
    }
  });

  it(titleOf(reference('A4-NIST7263')), () => {
    const item = reference('A4-NIST7263');
    const { n, mean, sd, content, confidence } = item.inputs;
    const howe = { mean, sd, n, content, confidence, sides: 2, method: 'howe' };
    const interval = runRow<{ k: number; lower: number; upper: number }>('tolerance-interval', howe);
    expect(relativeError(interval.k, recomputed(item, 'k2 (Howe)'))).toBeLessThan(1e-9);
    expect(relativeError(interval.lower, recomputed(item, 'lower two-sided limit'))).toBeLessThan(1e-9);
    expect(relativeError(interval.upper, recomputed(item, 'upper two-sided limit'))).toBeLessThan(1e-9);
    const natrella = oneSidedFactorNatrella({ n, content, confidence });
    expect(relativeError(natrella, recomputed(item, 'k1 (normal approximation)'))).toBeLessThan(1e-9);
    expect(mean + natrella * sd).toBeCloseTo(recomputed(item, 'upper one-sided limit'), 9);
    expect(relativeError(factor(n, content, confidence, 1), recomputed(item, 'k1 (noncentral t)'))).toBeLessThan(1e-9);
    expect(
      relativeError(factor(n, content, confidence, 2), recomputed(item, 'k2 exact (two-sided integral)')),
    ).toBeLessThan(1e-9);
    const guenther = factor(n, content, confidence, 2, 'howe-guenther');
    expect(relativeError(guenther, recomputed(item, 'k2 Howe with Guenther correction'))).toBeLessThan(1e-9);
  });

  it(titleOf(reference('A4-OWEN')), () => {
    const item = reference('A4-OWEN');
    const { n, content, confidence, mean, sd } = item.inputs;
    const answer = runRow<{ k: number; upper: number }>('tolerance-interval', {
      n,
      mean,
      sd,
      content,
      confidence,
      sides: 1,
    });
    expect(relativeError(answer.k, recomputed(item, 'k1 (table)'))).toBeLessThan(1e-9);
    expect(relativeError(answer.upper, recomputed(item, 'upper limit'))).toBeLessThan(1e-9);
  });

  it('takes its own degrees of freedom: k falls as they grow and tends to the known-sigma factor', () => {
    const withDf = (degreesOfFreedom: number) =>
      runRow<{ k: number }>('tolerance-factor', { n: 10, content: 0.95, confidence: 0.95, sides: 1, degreesOfFreedom })
        .k;
    expect(withDf(9)).toBeCloseTo(factor(10, 0.95, 0.95, 1), 12);
    expect(withDf(50)).toBeLessThan(withDf(9));
    // With sigma known k = z(content) + z(confidence)/√n.
    expect(withDf(1_000_000)).toBeCloseTo(1.6448536269514722 * (1 + 1 / Math.sqrt(10)), 4);
  });
});

describe('properties of tolerance factors', () => {
  const sizes = fc.integer({ min: 2, max: 3000 });
  const shares = fc.double({ min: 0.5, max: 0.999, noNaN: true });

  it('fall with n, rise with content and confidence; two sides need more than one', () => {
    fc.assert(
      fc.property(sizes, shares, shares, fc.constantFrom<1 | 2>(1, 2), (n, content, confidence, sides) => {
        const k = factor(n, content, confidence, sides);
        expect(factor(n, (1 + content) / 2, confidence, sides)).toBeGreaterThan(k);
        expect(factor(n, content, (1 + confidence) / 2, sides)).toBeGreaterThan(k);
        if (confidence > 0.6) expect(factor(2 * n, content, confidence, sides)).toBeLessThan(k);
        expect(factor(n, content, confidence, 2)).toBeGreaterThan(factor(n, content, confidence, 1) - 1e-9);
      }),
      { numRuns: 60 },
    );
  });

  it('limits move and scale with the data', () => {
    const values = [4.1, 3.9, 4.4, 4, 4.2, 3.7];
    const wanted = { content: 0.9, confidence: 0.95, sides: 2 };
    const plain = runRow<{ lower: number; upper: number }>('tolerance-interval', { values, ...wanted });
    const moved = runRow<{ lower: number; upper: number }>('tolerance-interval', {
      values: values.map((value) => 10 * value - 3),
      ...wanted,
    });
    expect(moved.lower).toBeCloseTo(10 * plain.lower - 3, 9);
    expect(moved.upper).toBeCloseTo(10 * plain.upper - 3, 9);
  });

  it('hold the content as often as the confidence says (simulation, fixed seed)', () => {
    const normal = normalNumbers(7263);
    const [n, trials, content, confidence] = [8, 4000, 0.9, 0.9];
    const k = factor(n, content, confidence, 2);
    let held = 0;
    for (let trial = 0; trial < trials; trial++) {
      const list = Array.from({ length: n }, normal);
      const mean = list.reduce((sum, value) => sum + value, 0) / n;
      const sd = Math.sqrt(list.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (n - 1));
      if (normalCdf(mean + k * sd) - normalCdf(mean - k * sd) >= content) held++;
    }
    expect(Math.abs(held / trials - confidence)).toBeLessThan(3 * Math.sqrt((0.9 * 0.1) / trials));
  });
});

describe('tolerance refuses', () => {
  const good = { n: 10, content: 0.95, confidence: 0.95, sides: 1 };
  it.each([
    ['one value', { ...good, n: 1 }, 'n'],
    ['a content of 1', { ...good, content: 1 }, 'content'],
    ['a confidence of 0', { ...good, confidence: 0 }, 'confidence'],
    ['three sides', { ...good, sides: 3 }, 'sides'],
    ['a two-sided method for one side', { ...good, method: 'howe' }, 'method'],
    ['half a degree of freedom', { ...good, degreesOfFreedom: 0.5 }, 'degreesOfFreedom'],
    ['n beyond reason', { ...good, n: 1e9 }, 'n'],
    ['a missing field', { n: 10, content: 0.95, sides: 1 }, 'confidence'],
  ])('%s', (_, input, field) => {
    expect(refusedField('tolerance-factor', input)).toBe(field);
  });

  it('equal values', () => {
    const input = { values: [2, 2, 2], content: 0.9, confidence: 0.9, sides: 2 };
    expect(refusedField('tolerance-interval', input)).toBe('values');
  });
});
