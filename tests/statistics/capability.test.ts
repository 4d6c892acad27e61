import fc from 'fast-check';
import { capabilityIndices, tailFraction } from '../../src/statistics/capability.js';
import { exactLowerBound, ppInterval, ppLowerBound } from '../../src/statistics/capability-bounds.js';
import { moments } from '../../src/statistics/summary.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { normalNumbers, relativeError } from '../support/numbers.js';
import { refusedField, runRow } from './run-row.js';

interface CapabilityAnswer {
  readonly [field: string]: number | undefined;
}
interface WithBounds {
  readonly bounds: { ppk: { lower: number; method: string }; pp?: { lower: number; upper: number } };
}

describe('capability of a normal characteristic', () => {
  it(titleOf(reference('A2-NIST616')), () => {
    const item = reference('A2-NIST616');
    const { USL: upper, LSL: lower, mean, standard_deviation: sd, target } = item.inputs;
    const answer = runRow<CapabilityAnswer>('capability', { mean, sd, n: 50, lower, upper, target });
    const fields = { Cp: 'pp', k: 'k', Cpk: 'ppk', Cpu: 'ppu', Cpl: 'ppl', 'Cpm (target 14)': 'cpm' };
    for (const [name, field] of Object.entries(fields)) {
      expect(relativeError(answer[field]!, recomputed(item, name))).toBeLessThan(1e-9);
    }
    // The within sigma was not given, and there are no values to take it from.
    expect(answer).not.toHaveProperty('cpk');
    expect(answer.notes).toEqual(expect.arrayContaining([expect.stringContaining('need withinSigma')]));
  });

  it(titleOf(reference('A2-CPCI')), () => {
    const item = reference('A2-CPCI');
    const { USL: upper, LSL: lower, s: sd, n, confidence } = item.inputs;
    const answer = runRow<CapabilityAnswer & WithBounds>('capability', { mean: 50, sd, n, lower, upper, confidence });
    expect(relativeError(answer.pp!, recomputed(item, 'Cp'))).toBeLessThan(1e-11);
    const { lower: low, upper: high } = answer.bounds.pp!;
    expect(relativeError(low, recomputed(item, 'lower, no intermediate rounding'))).toBeLessThan(1e-9);
    expect(relativeError(high, recomputed(item, 'upper, no intermediate rounding'))).toBeLessThan(1e-9);
    const rounded = ppInterval(2.29, n, confidence);
    expect(relativeError(rounded.lower, recomputed(item, 'lower, from the rounded Cp 2.29'))).toBeLessThan(1e-9);
    expect(relativeError(rounded.upper, recomputed(item, 'upper, from the rounded Cp 2.29'))).toBeLessThan(1e-9);
  });

  it(titleOf(reference('A2-LOWER95')), () => {
    const item = reference('A2-LOWER95');
    const rows = item.expected[0]!.recomputed as readonly Record<string, number>[];
    expect(rows).toHaveLength(18);
    for (const row of rows) {
      const input = { estimate: row.index_hat, n: row.n, confidence: item.inputs.confidence, index: 'ppk' };
      const answer = runRow<{ exactLower: number; approximateLower: number }>('capability-bound', input);
      expect(relativeError(answer.exactLower, row.exact_lower!)).toBeLessThan(1e-9);
      expect(relativeError(answer.approximateLower, row.bissell_lower!)).toBeLessThan(1e-9);
      const chiSquare = ppLowerBound(row.index_hat!, row.n!, item.inputs.confidence);
      expect(relativeError(chiSquare, row.cp_chi2_lower_one_sided!)).toBeLessThan(1e-9);
    }
  });

  it(titleOf(reference('A2-TAIL')), () => {
    const rows = reference('A2-TAIL').expected[0]!.recomputed as readonly Record<string, number>[];
    for (const { Cpk, one_sided_tail_ppm: ppm } of rows) {
      expect(relativeError(tailFraction(Cpk!) * 1e6, ppm!)).toBeLessThan(1e-9);
    }
  });

  it.each([
    ['A2-PCTL-LOGNORMAL', { name: 'lognormal', parameters: { logMean: 1.2, logSd: 0.35 } }],
    ['A2-PCTL-ONESIDED', { name: 'gamma', parameters: { shape: 3, rate: 2 } }],
  ])('%s: percentile method', (id, distribution) => {
    const item = reference(id);
    const { L, U } = item.inputs;
    const input = { distribution, ...(L !== null && { lower: L }), upper: U };
    const answer = runRow<CapabilityAnswer>('capability-percentile', input);
    const fields = {
      'X0.135%': 'p00135',
      'X50%': 'p50',
      'X99.865%': 'p99865',
      Cp: 'pp',
      Cpku: 'ppu',
      Cpkl: 'ppl',
      Cpk: 'ppk',
    };
    for (const [name, field] of Object.entries(fields)) {
      const expected = item.expected.find((each) => each.name === name);
      if (!expected) expect(answer).not.toHaveProperty(field);
      else expect(relativeError(answer[field]!, Number(expected.recomputed))).toBeLessThan(1e-9);
    }
  });

  it('takes the parameters of a distribution beside its name as well, and a threshold', () => {
    const flat = { distribution: { name: 'weibull', shape: 2, scale: 3, threshold: 10 }, upper: 20 };
    const nested = { distribution: { name: 'weibull', parameters: { shape: 2, scale: 3 } }, upper: 10 };
    const shifted = runRow<CapabilityAnswer>('capability-percentile', flat);
    const plain = runRow<CapabilityAnswer>('capability-percentile', nested);
    expect(shifted.p50).toBeCloseTo(plain.p50! + 10, 12);
    expect(shifted.ppk).toBeCloseTo(plain.ppk!, 12);
  });

  it('gives the normal indices when the distribution is normal', () => {
    const limits = { lower: 2, upper: 9 };
    const distribution = { name: 'normal', parameters: { mean: 5, sd: 1 } };
    const byPercentile = runRow<CapabilityAnswer>('capability-percentile', { distribution, ...limits });
    const normal = capabilityIndices(5, 1, limits);
    expect(byPercentile.pp).toBeCloseTo(normal.total!, 12);
    expect(byPercentile.ppk).toBeCloseTo(normal.nearer, 12);
  });

  it('takes the within sigma from the moving range of values in order', () => {
    // By hand: mean moving range (1 + 2 + 1 + 1) / 4 = 1.25, sigma 1.25 √π / 2 = 1.107783.
    const answer = runRow<CapabilityAnswer>('capability', { values: [1, 2, 4, 3, 4], lower: -5, upper: 10 });
    expect(answer.cp).toBeCloseTo(15 / (6 * 1.25 * (Math.sqrt(Math.PI) / 2)), 12);
    expect(answer.notes).toEqual(expect.arrayContaining([expect.stringContaining('stable process')]));
  });

  it('works with one limit, and with limits below 0', () => {
    const one = runRow<CapabilityAnswer & WithBounds>('capability', { mean: 1, sd: 0.2, n: 12, upper: 2 });
    expect(one.ppk).toBeCloseTo(1 / 0.6, 12);
    for (const absent of ['pp', 'ppl', 'k', 'cpm']) expect(one).not.toHaveProperty(absent);
    expect(one.bounds).not.toHaveProperty('pp');
    const shifted = runRow<CapabilityAnswer>('capability', { mean: -95, sd: 2, n: 12, lower: -104, upper: -92 });
    expect(shifted.ppk).toBeCloseTo(3 / 6, 12);
  });
});

describe('properties of the capability bounds', () => {
  const estimates = fc.double({ min: -1, max: 4, noNaN: true });
  const confidences = fc.double({ min: 0.6, max: 0.999, noNaN: true });

  it('the bound lies below the estimate and rises towards it with n', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.3, max: 4, noNaN: true }),
        confidences,
        fc.integer({ min: 3, max: 5000 }),
        (c, confidence, n) => {
          const bound = exactLowerBound(c, n, confidence);
          expect(bound).toBeLessThan(c);
          expect(exactLowerBound(c, 4 * n, confidence)).toBeGreaterThan(bound);
          expect(exactLowerBound(c, n, (1 + confidence) / 2)).toBeLessThan(bound);
        },
      ),
    );
  });

  it('is the one-sided tolerance factor read backwards: an index of k/3 has the bound z/3', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 2, max: 200 }),
        confidences,
        fc.double({ min: 0.6, max: 0.9999, noNaN: true }),
        (n, confidence, content) => {
          const { k } = runRow<{ k: number }>('tolerance-factor', { n, content, confidence, sides: 1 });
          const z = 3 * exactLowerBound(k / 3, n, confidence);
          expect(Math.abs(tailFraction(z / 3) - (1 - content))).toBeLessThan(1e-10);
        },
      ),
    );
  });

  it('indices do not change with unit and origin', () => {
    fc.assert(
      fc.property(
        estimates,
        fc.double({ min: 0.1, max: 50, noNaN: true }),
        fc.integer({ min: -100, max: 100 }),
        (mean, scale, shift) => {
          const plain = capabilityIndices(mean, 1, { lower: -6, upper: 7 });
          const moved = capabilityIndices(scale * mean + shift, scale, {
            lower: scale * -6 + shift,
            upper: scale * 7 + shift,
          });
          expect(Math.abs(moved.nearer - plain.nearer)).toBeLessThan(1e-9);
          expect(Math.abs(moved.total! - plain.total!)).toBeLessThan(1e-9);
        },
      ),
    );
  });

  it('covers the true index as often as the confidence says (simulation, fixed seed)', () => {
    const normal = normalNumbers(20310504);
    const [n, trials, confidence, truth] = [10, 2000, 0.9, 1.2];
    let covered = 0;
    for (let trial = 0; trial < trials; trial++) {
      const { mean, sd } = moments(Array.from({ length: n }, normal));
      if (exactLowerBound((3 * truth - mean) / (3 * sd), n, confidence) <= truth) covered++;
    }
    // Three standard errors of a share of 0.9 in 2000 trials.
    expect(Math.abs(covered / trials - confidence)).toBeLessThan(3 * Math.sqrt((0.9 * 0.1) / trials));
  });
});

describe('capability refuses', () => {
  it.each([
    ['limits the wrong way round', { mean: 1, sd: 1, n: 5, lower: 3, upper: 2 }, 'lower'],
    ['equal limits', { mean: 1, sd: 1, n: 5, lower: 3, upper: 3 }, 'lower'],
    ['no limit', { mean: 1, sd: 1, n: 5 }, 'lower'],
    ['a confidence of 1', { mean: 1, sd: 1, n: 5, lower: 0, confidence: 1 }, 'confidence'],
    ['a confidence of 95', { mean: 1, sd: 1, n: 5, lower: 0, confidence: 95 }, 'confidence'],
    ['NaN', { mean: Number.NaN, sd: 1, n: 5, lower: 0 }, 'mean'],
    ['an infinite limit', { mean: 1, sd: 1, n: 5, lower: Number.NEGATIVE_INFINITY }, 'lower'],
    ['null', { mean: 1, sd: 1, n: 5, lower: null }, 'lower'],
    ['an empty list', { values: [], lower: 0 }, 'values'],
    ['a single value', { values: [1], lower: 0 }, 'values'],
    ['no spread', { values: [1, 1, 1], lower: 0 }, 'values'],
    ['a standard deviation of 0', { mean: 1, sd: 0, n: 5, lower: 0 }, 'sd'],
    ['n beyond reason', { mean: 1, sd: 1, n: 1e12, lower: 0 }, 'n'],
    ['a broken n', { mean: 1, sd: 1, n: 5.5, lower: 0 }, 'n'],
    ['a value that is no number', { values: [1, '1,5'], lower: 0 }, 'values.1'],
    ['an unknown field', { mean: 1, sd: 1, n: 5, lower: 0, uppper: 3 }, 'uppper'],
    ['both forms of the sample', { values: [1, 2], mean: 1, lower: 0 }, 'mean'],
    ['half of the other form', { mean: 1, n: 4, lower: 0 }, 'sd'],
  ])('%s', (_, input, field) => {
    expect(refusedField('capability', input)).toBe(field);
  });

  it.each([
    [{ distribution: { name: 'cauchy' }, upper: 1 }, 'distribution.name'],
    [{ distribution: { name: 'gamma', shape: 0, rate: 1 }, upper: 1 }, 'distribution.parameters.shape'],
    [{ distribution: { name: 'gamma', shape: 1, scale: 1 }, upper: 1 }, 'distribution.parameters.rate'],
    [{ distribution: { name: 'normal', mean: 0, sd: 1 } }, 'lower'],
  ])('a distribution: %j', (input, field) => {
    expect(refusedField('capability-percentile', input)).toBe(field);
  });

  it.each<[string, () => unknown, string]>([
    ['a bound for NaN', () => exactLowerBound(Number.NaN, 10, 0.95), 'estimate'],
    ['a bound for one value', () => exactLowerBound(1, 1, 0.95), 'n'],
    ['a bound for half a value', () => ppLowerBound(1, 2.5, 0.95), 'n'],
    ['an interval at confidence 1', () => ppInterval(1, 10, 1), 'confidence'],
    ['indices of no spread', () => capabilityIndices(1, 0, { lower: 0 }), 'sd'],
    ['indices without a limit', () => capabilityIndices(1, 1, {}), 'lower'],
    ['moments of nothing', () => moments([]), 'values'],
    ['moments with NaN', () => moments([1, Number.NaN, 2]), 'values'],
    ['moments with an infinity', () => moments([1, Number.POSITIVE_INFINITY]), 'values'],
  ])('as a library too: %s', (_, call, field) => {
    expect(call).toThrow(expect.objectContaining({ name: 'CalculationError', field }));
  });

  it('an index pp that is not above 0', () => {
    expect(refusedField('capability-bound', { estimate: 0, n: 5, confidence: 0.9, index: 'pp' })).toBe('estimate');
  });
});
