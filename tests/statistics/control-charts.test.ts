import fc from 'fast-check';
import { CUSUM, ewmaDesign } from '../../src/statistics/chart-signals.js';
import { normalCdf } from '../../src/statistics/distributions.js';
import { movingRangeSigma } from '../../src/statistics/individuals-chart.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { relativeError } from '../support/numbers.js';
import { refusedField, runRow } from './run-row.js';

interface Signal {
  readonly index: number;
  readonly rule: string;
}
interface ChartAnswer {
  readonly [field: string]: number;
}
type WithSignals = { readonly signals: readonly Signal[] };

describe('control-chart constants', () => {
  it(titleOf(reference('A3-CONST-2-12')), () => {
    const rows = reference('A3-CONST-2-12').expected[0]!.recomputed as readonly {
      readonly n: number;
      readonly published: Readonly<Record<string, string>>;
      readonly recomputed: Readonly<Record<string, number>>;
    }[];
    expect(rows).toHaveLength(11);
    for (const { n, published, recomputed: exact } of rows) {
      const answer = runRow<ChartAnswer>('chart-constants', { n });
      for (const [name, value] of Object.entries(exact)) expect(Math.abs(answer[name]! - value)).toBeLessThan(1e-10);
      for (const [name, printed] of Object.entries(published)) {
        expect(Math.abs(answer[name]! - Number(printed))).toBeLessThan(name === 'c4' ? 1e-4 : 1e-3);
      }
    }
  });

  // c4 tends to 1 − 1/(4 (n − 1)); a series good to n^-3 (Montgomery prints 4(n − 1)/(4n − 3)).
  it('c4 at n = 100 agrees with the printed approximation', () => {
    expect(runRow<ChartAnswer>('chart-constants', { n: 100 }).c4).toBeCloseTo((4 * 99) / 397, 5);
  });

  it.each([1, 101, 2.5, '5'])('refuses n = %j', (n) => expect(refusedField('chart-constants', { n })).toBe('n'));
});

describe('individuals chart', () => {
  const item = reference('A3-IMR-NIST');

  it(titleOf(item), () => {
    const table = runRow<ChartAnswer & WithSignals>('individuals-chart', {
      values: item.inputs.data,
      spanConstant: 'table',
    });
    expect(relativeError(table.centre!, recomputed(item, 'mean'))).toBeLessThan(1e-9);
    expect(relativeError(table.meanMovingRange!, recomputed(item, 'mean moving range'))).toBeLessThan(1e-9);
    expect(relativeError(table.upper!, recomputed(item, 'UCL (d2=1.128)'))).toBeLessThan(1e-9);
    expect(relativeError(table.lower!, recomputed(item, 'LCL (d2=1.128)'))).toBeLessThan(1e-9);
    expect(relativeError(table.rangeUpper!, recomputed(item, 'moving-range UCL, D4 = 3.267'))).toBeLessThan(1e-9);
    expect(table.signals).toEqual([]);
    const exact = runRow<ChartAnswer>('individuals-chart', { values: item.inputs.data });
    expect(relativeError(exact.upper!, recomputed(item, 'UCL (exact d2 = 2/sqrt(pi))'))).toBeLessThan(1e-9);
    expect(relativeError(exact.lower!, recomputed(item, 'LCL (exact d2)'))).toBeLessThan(1e-9);
    expect(relativeError(exact.rangeUpper!, recomputed(item, 'moving-range UCL, exact D4'))).toBeLessThan(1e-9);
  });

  it('signals an outlier once, and names its wide moving ranges in a note', () => {
    const values = [5, 5.1, 4.9, 5, 5.1, 4.9, 5, 5.1, 4.9, 9, 5, 5.1, 4.9, 5, 5.1, 4.9, 5, 5.1, 4.9, 5];
    const answer = runRow<WithSignals>('individuals-chart', { values });
    expect(answer.signals).toEqual([{ index: 10, rule: 'beyondLimit' }]);
    expect(answer.notes).toEqual(expect.arrayContaining([expect.stringContaining('end at the values 10, 11')]));
  });

  it('applies the rules asked for', () => {
    const values = [1, 2, 3, 4, 5, 6, 5, 6];
    const answer = runRow<WithSignals>('individuals-chart', { values, rules: ['sixSteady'] });
    expect(answer.signals).toContainEqual({ index: 6, rule: 'sixSteady' });
  });

  it('takes sigma from the moving range whatever the unit', () => {
    const values = fc.array(fc.integer({ min: -500, max: 500 }), { minLength: 3, maxLength: 60 });
    fc.assert(
      fc.property(values, fc.integer({ min: -100, max: 100 }), (list, shift) => {
        const moved = list.map((value) => -4 * value + shift);
        expect(movingRangeSigma(moved)).toBeCloseTo(4 * movingRangeSigma(list), 9);
      }),
    );
  });

  it.each([
    [{ values: [] }, 'values'],
    [{ values: [3] }, 'values'],
    [{ values: [3, 3, 3] }, 'values'],
    [{ values: [3, Number.NaN] }, 'values.1'],
    [{ values: [3, 4], rules: ['sevenInARow'] }, 'rules.0'],
    [{ values: [3, 4], spanConstant: 'rounded' }, 'spanConstant'],
  ])('refuses %j', (input, field) => expect(refusedField('individuals-chart', input)).toBe(field));
});

describe('subgroup chart', () => {
  const item = reference('A3-XBARR-FLOW');
  const subgroups: number[][] = item.inputs.subgroups;

  it(titleOf(item), () => {
    const answer = runRow<ChartAnswer & WithSignals>('subgroup-chart', { subgroups, spread: 'range' });
    expect(relativeError(answer.grandMean!, recomputed(item, 'grand mean'))).toBeLessThan(1e-9);
    expect(relativeError(answer.meanSpread!, recomputed(item, 'R-bar'))).toBeLessThan(1e-9);
    expect(relativeError(answer.meanUpper!, recomputed(item, 'UCL mean, exact constants'))).toBeLessThan(1e-9);
    expect(relativeError(answer.meanLower!, recomputed(item, 'LCL mean, exact constants'))).toBeLessThan(1e-9);
    expect(relativeError(answer.spreadUpper!, recomputed(item, 'UCL range, exact D4'))).toBeLessThan(1e-9);
    expect(answer.spreadLower).toBe(0);
    // Published with d2 = 2.326 in place of the exact 2.3259289.
    expect(answer.sigma! * (2.3259289473 / 2.326)).toBeCloseTo(recomputed(item, 'sigma-hat (d2=2.326)'), 9);
    expect(answer.signals).toEqual([]);
    const bySd = runRow<ChartAnswer>('subgroup-chart', { subgroups, spread: 'sd' });
    expect(relativeError(bySd.meanSpread!, recomputed(item, 'S-bar'))).toBeLessThan(1e-9);
  });

  it('signals a subgroup by its mean and another by its spread', () => {
    const steady = Array.from({ length: 20 }, (_, i) => [9.9 + (i % 3) * 0.02, 10, 10.1]);
    const shifted = steady.with(4, [11, 11.1, 11.2]).with(9, [8.5, 10, 11.5]);
    const answer = runRow<WithSignals>('subgroup-chart', { subgroups: shifted, spread: 'range' });
    expect(answer.signals).toEqual([
      { index: 5, rule: 'beyondLimit' },
      { index: 10, rule: 'beyondLimit' },
    ]);
    expect(answer.notes).toEqual([
      'means beyond their limits: subgroups 5',
      'spreads beyond their limits: subgroups 10',
    ]);
  });

  it('pools unequal subgroups and gives each its own limits', () => {
    // By hand: variances 2 (n = 2), 1 (n = 3), 2 (n = 2); pooled (2 + 2 + 2)/(1 + 2 + 1) = 1.5.
    const unequal = [
      [1, 3],
      [1, 2, 3],
      [0, 2],
    ];
    const answer = runRow<{ grandMean: number; meanSpread: number; meanUpper: number[] }>('subgroup-chart', {
      subgroups: unequal,
      spread: 'sd',
    });
    expect(answer.grandMean).toBeCloseTo((2 * 2 + 3 * 2 + 2 * 1) / 7, 12);
    expect(answer.meanSpread).toBeCloseTo(Math.sqrt(1.5), 12);
    const a3 = [2, 3, 2].map((n) => runRow<ChartAnswer>('chart-constants', { n }).A3!);
    answer.meanUpper.forEach((upper, i) => {
      expect(upper).toBeCloseTo(answer.grandMean + a3[i]! * answer.meanSpread, 12);
    });
  });

  it('gives equal subgroups the same limits through the path for unequal ranges', () => {
    const equal = runRow<ChartAnswer>('subgroup-chart', { subgroups, spread: 'range' });
    const odd = [...subgroups, [1.45, 1.5, 1.55, 1.6]];
    const unequal = runRow<{ meanUpper: number[]; sigma: number }>('subgroup-chart', {
      subgroups: odd,
      spread: 'range',
    });
    expect(unequal.meanUpper).toHaveLength(26);
    expect(unequal.meanUpper[0]).toBeCloseTo(unequal.meanUpper[1]!, 12);
    expect(unequal.meanUpper[25]!).toBeGreaterThan(unequal.meanUpper[0]!);
    expect(Math.abs(unequal.sigma - equal.sigma!)).toBeLessThan(0.01);
  });

  it.each([
    [{ subgroups: [[1, 2]], spread: 'range' }, 'subgroups'],
    [{ subgroups: [[1, 2], [3]], spread: 'range' }, 'subgroups.1'],
    [
      {
        subgroups: [
          [1, 1],
          [2, 2],
        ],
        spread: 'sd',
      },
      'subgroups',
    ],
    [
      {
        subgroups: [
          [1, 2],
          [2, 3],
        ],
      },
      'spread',
    ],
  ])('refuses %j', (input, field) => expect(refusedField('subgroup-chart', input)).toBe(field));
});

describe('count chart', () => {
  it(titleOf(reference('A3-C-NIST')), () => {
    const item = reference('A3-C-NIST');
    const answer = runRow<{ centre: number; lower: number[]; upper: number[] } & WithSignals>('count-chart', {
      counts: item.inputs.defects,
    });
    expect([answer.centre, answer.lower[0], answer.upper[0]]).toEqual([16, 4, 28]);
    // Wafer 3 has 28 defects, exactly on the limit: not beyond it.
    const expected = item.expected.find(({ name }) => name.startsWith('outside limits'))!.recomputed;
    expect(answer.signals.map(({ index }) => index)).toEqual(expected);
  });

  it('gives fractions limits by their sample size, within 0 and 1', () => {
    // By hand: p = 12/120 = 0.1; sizes 20 and 80: sigma 0.067082 and 0.033541.
    const answer = runRow<{ centre: number; lower: number[]; upper: number[] }>('count-chart', {
      counts: [1, 2, 9],
      sizes: [20, 20, 80],
    });
    expect(answer.centre).toBeCloseTo(0.1, 12);
    expect(answer.lower).toEqual([0, 0, 0]);
    expect(answer.upper[0]).toBeCloseTo(0.1 + 3 * Math.sqrt(0.09 / 20), 12);
    expect(answer.upper[2]).toBeCloseTo(0.1 + 3 * Math.sqrt(0.09 / 80), 12);
  });

  it.each([
    [{ counts: [1.5, 2] }, 'counts.0'],
    [{ counts: [-1, 2] }, 'counts.0'],
    [{ counts: [1, 2], sizes: [3] }, 'sizes'],
    [{ counts: [1, 7], sizes: [3, 3] }, 'counts.1'],
    [{ counts: [0, 0], rules: ['eightOneSide'] }, 'counts'],
  ])('refuses %j', (input, field) => expect(refusedField('count-chart', input)).toBe(field));
});

describe('moving average and cumulative sums', () => {
  it(titleOf(reference('A3-EWMA-NIST')), () => {
    const item = reference('A3-EWMA-NIST');
    const { data, lambda, target, s: sigma, k: width } = item.inputs;
    const design = { values: data, target, sigma, lambda, width };
    const answer = runRow<{ points: number[]; lower: number[]; upper: number[] } & WithSignals>('ewma', {
      ...design,
      limits: 'steady',
    });
    expect(relativeError(answer.upper[7]!, recomputed(item, 'UCL'))).toBeLessThan(1e-9);
    expect(relativeError(answer.lower[7]!, recomputed(item, 'LCL'))).toBeLessThan(1e-9);
    answer.points.forEach((point, i) => {
      expect(relativeError(point, recomputed(item, `EWMA ${i + 1}`))).toBeLessThan(1e-9);
    });
    expect(answer.signals).toEqual([]);
    // First time-varying limits as the notes of the item give them.
    const exact = runRow<{ lower: number[]; upper: number[] }>('ewma', { ...design, limits: 'exact' });
    expect(exact.upper[0]).toBeCloseTo(51.84851, 5);
    expect(exact.lower[0]).toBeCloseTo(48.15149, 5);
    expect(exact.upper.at(-1)!).toBeCloseTo(answer.upper[0]!, 5);
  });

  it(titleOf(reference('A3-CUSUM-NIST')), () => {
    const item = reference('A3-CUSUM-NIST');
    const { data, mu0: target, k, h } = item.inputs;
    const answer = runRow<{ high: number[]; low: number[]; highRun: number[] } & WithSignals>('cusum', {
      values: data,
      target,
      k,
      h,
    });
    const listOf = (name: string) => item.expected.find((each) => each.name === name)!.recomputed as number[];
    listOf('S_hi (all 20)').forEach((sum, i) => {
      expect(Math.abs(answer.high[i]! - sum)).toBeLessThan(1e-9);
    });
    listOf('S_lo (all 20)').forEach((sum, i) => {
      expect(Math.abs(answer.low[i]! - sum)).toBeLessThan(1e-9);
    });
    expect(answer.signals.map(({ index }) => index)).toEqual(listOf('signals'));
    // The upper sum left 0 for good at value 13.
    expect(answer.highRun.slice(11)).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8]);
  });

  it.each([
    ['ewma', { values: [1], target: 0, sigma: 1, lambda: 0, width: 3, limits: 'steady' }, 'lambda'],
    ['ewma', { values: [1], target: 0, sigma: 1, lambda: 1.1, width: 3, limits: 'steady' }, 'lambda'],
    ['ewma', { values: [1], target: 0, sigma: 0, lambda: 0.2, width: 3, limits: 'steady' }, 'sigma'],
    ['ewma', { values: [1], target: 0, sigma: 1, lambda: 0.2, width: 3 }, 'limits'],
    ['cusum', { values: [], target: 0, k: 0.5, h: 4 }, 'values'],
    ['cusum', { values: [1], target: 0, k: -1, h: 4 }, 'k'],
    ['cusum', { values: [1], target: 0, k: 0.5, h: 0 }, 'h'],
  ])('%s refuses %j', (name, input, field) => expect(refusedField(name, input)).toBe(field));
});

describe('run length', () => {
  const lengthOf = (input: object) => runRow<{ averageRunLength: number }>('run-length', input).averageRunLength;

  it(titleOf(reference('A3-ARL-SHEWHART')), () => {
    for (const { name, recomputed: expected } of reference('A3-ARL-SHEWHART').expected) {
      const shift = Number(name.replace('shift ', ''));
      expect(relativeError(lengthOf({ chart: 'shewhart', width: 3, shift }), Number(expected))).toBeLessThan(1e-9);
    }
  });

  it.each(['A3-ARL-EWMA-10', 'A3-ARL-EWMA-25', 'A3-ARL-EWMA-40'])(
    '%s: Lucas and Saccucci, Technometrics 32 (1990)',
    (id) => {
      const item = reference(id);
      const { lambda, L: width } = item.inputs;
      for (const { name, recomputed: expected } of item.expected) {
        const shift = Number(name.replace('shift ', ''));
        expect(relativeError(lengthOf({ chart: 'ewma', lambda, width, shift }), Number(expected))).toBeLessThan(1e-6);
      }
    },
  );

  it(titleOf(reference('A3-ARL-CUSUM-H4')), () => {
    for (const { name, recomputed: expected } of reference('A3-ARL-CUSUM-H4').expected) {
      const oneSided = name.startsWith('one-sided');
      const shift = Number(/shift ([\d.]+)/.exec(name)![1]);
      const input = { chart: 'cusum', k: 0.5, h: 4, shift, ...(oneSided && { sides: 1 }) };
      expect(relativeError(lengthOf(input), Number(expected))).toBeLessThan(1e-6);
    }
  });

  const RULES = ['beyondThreeSigma', 'twoOfThreeBeyondTwoSigma', 'fourOfFiveBeyondOneSigma', 'eightOneSide'];

  it(titleOf(reference('A3-ARL-ZONES-OPEN')), () => {
    for (const { name, recomputed: expected } of reference('A3-ARL-ZONES-OPEN').expected) {
      const [, numbers, shift] = /^rules ([\d+]+), (?:in control|shift ([\d.]+))$/.exec(name)!;
      const rules = numbers!.split('+').map((number) => RULES[Number(number) - 1]);
      const length = lengthOf({ chart: 'shewhart-with-rules', rules, shift: Number(shift ?? 0) });
      expect(relativeError(length, Number(expected))).toBeLessThan(1e-9);
    }
  });

  /*
   * Numbers as their papers print them, each found again in an open text that quotes it: Brook and Evans, Biometrika 59
   * (1972), 4.3; Vance, J. Quality Technology 18 (1986), table 1; NIST/SEMATECH e-Handbook 6.3.2.3 (h = 5) and 6.3.2 (91.75
   * with four rules, after Champ and Woodall; 371 with one); Lucas and Saccucci (1990), table 3, of which all but the two
   * with lambda 0.2 and 0.4 (from memory) were found; Crowder, J. Quality Technology 21 (1989).
   */
  it.each([
    [{ k: 0.5, h: 3, sides: 1, shift: 0 }, 117.59, 0.006],
    [{ k: 0.5, h: 3, sides: 1, shift: 1.5 }, 3.75, 0.005],
    [{ k: 0, h: 10, sides: 1, shift: -0.25 }, 2071.51, 0.07],
    [{ k: 0, h: 10, sides: 1, shift: -0.125 }, 400.28, 0.005],
    [{ k: 0, h: 10, sides: 1, shift: 0 }, 124.66, 0.005],
    [{ k: 0, h: 10, sides: 1, shift: 0.125 }, 59.3, 0.006],
    [{ k: 0, h: 10, sides: 1, shift: 0.25 }, 36.71, 0.005],
    [{ k: 0, h: 10, sides: 1, shift: 0.5 }, 20.37, 0.005],
    [{ k: 0, h: 10, sides: 1, shift: 0.75 }, 14.06, 0.005],
    [{ k: 0, h: 10, sides: 1, shift: 1 }, 10.75, 0.005],
    [{ k: 0.5, h: 5, sides: 1, shift: 0 }, 930, 1],
    [{ k: 0.5, h: 5, shift: 0.5 }, 38, 0.05],
    [{ k: 0.5, h: 5, shift: 1 }, 10.4, 0.05],
    [{ k: 0.5, h: 5, shift: 2 }, 4.01, 0.005],
  ])('of sums %j is the published %d', (design, published, within) => {
    expect(Math.abs(lengthOf({ chart: 'cusum', ...design }) - published)).toBeLessThan(within);
  });

  it.each([
    [0.05, 2.615, 500],
    [0.1, 2.814, 500],
    [0.2, 2.962, 500],
    [0.25, 2.998, 500],
    [0.4, 3.054, 500],
    [0.5, 3.071, 500],
    [0.05, 2.32, 250],
    [0.1, 2.55, 250],
    [0.15, 2.65, 250],
    [0.2, 2.72, 250],
    [0.25, 2.76, 250],
  ])(
    'of an average with lambda %d and limits at %d standard deviations is the published %d',
    (lambda, width, published) => {
      // As far as the printed limit is rounded.
      const half = published === 250 ? 0.005 : 0.0005;
      const [least, most] = [width - half, width + half].map((at) =>
        lengthOf({ chart: 'ewma', lambda, width: at, shift: 0 }),
      );
      expect(least).toBeLessThan(published);
      expect(most).toBeGreaterThan(published);
    },
  );

  it('of four rules is 91.75 where nothing changed, and 371 of the limits alone', () => {
    const of = (rules: readonly string[]) => lengthOf({ chart: 'shewhart-with-rules', rules, shift: 0 });
    expect(of(RULES)).toBeCloseTo(91.75, 2);
    expect(Math.abs(of(RULES.slice(0, 1)) - 371)).toBeLessThan(1);
  });

  it('of the average (with steady limits) and the sums as charts of families have them is 500, and half of 930', () => {
    const { lambda, width } = ewmaDesign(0, 1);
    expect(Math.abs(lengthOf({ chart: 'ewma', lambda, width, shift: 0 }) - 500)).toBeLessThan(1);
    expect(Math.abs(lengthOf({ chart: 'cusum', ...CUSUM, shift: 0 }) - 930 / 2)).toBeLessThan(1);
  });

  it('shortens with each further rule and with the shift', () => {
    for (let count = 1; count < RULES.length; count++) {
      const fewer = lengthOf({ chart: 'shewhart-with-rules', rules: RULES.slice(0, count), shift: 0.5 });
      const more = lengthOf({ chart: 'shewhart-with-rules', rules: RULES.slice(0, count + 1), shift: 0.5 });
      expect(more).toBeLessThan(fewer);
      expect(lengthOf({ chart: 'shewhart-with-rules', rules: RULES.slice(0, count), shift: -0.5 })).toBeCloseTo(
        fewer,
        8,
      );
    }
  });

  it('eight on one side alone has the run length of a fair coin: (2^8 − 1) tosses', () => {
    expect(lengthOf({ chart: 'shewhart-with-rules', rules: ['eightOneSide'], shift: 0 })).toBeCloseTo(255, 8);
  });

  it('an EWMA with lambda 1 is the plain chart, and lambda near 1 is near it', () => {
    const plain = lengthOf({ chart: 'shewhart', width: 3, shift: 0.7 });
    expect(lengthOf({ chart: 'ewma', lambda: 1, width: 3, shift: 0.7 })).toBe(plain);
    expect(relativeError(lengthOf({ chart: 'ewma', lambda: 0.9999, width: 3, shift: 0.7 }), plain)).toBeLessThan(1e-3);
  });

  it('keeps its digits at very long run lengths: a CUSUM with a vanishing h is one comparison with k', () => {
    const k = 6;
    const comparison = 1 / normalCdf(-k);
    expect(relativeError(lengthOf({ chart: 'cusum', k, h: 1e-9, sides: 1, shift: 0 }), comparison)).toBeLessThan(1e-6);
  });

  it.each([
    [{ chart: 'moving-range', shift: 0 }, 'chart'],
    [{ chart: 'shewhart', width: 0, shift: 0 }, 'width'],
    [{ chart: 'shewhart', width: 3 }, 'shift'],
    [{ chart: 'shewhart', width: 3, shift: 0, h: 4 }, 'h'],
    [{ chart: 'shewhart', width: 60, shift: 0 }, 'averageRunLength'],
    [{ chart: 'ewma', lambda: 1e-6, width: 3, shift: 0 }, 'lambda'],
    [{ chart: 'cusum', k: 0.5, h: 1e6, shift: 0 }, 'h'],
    [{ chart: 'shewhart-with-rules', rules: [], shift: 0 }, 'rules'],
    [{ chart: 'shewhart-with-rules', rules: ['sixSteady'], shift: 0 }, 'rules.0'],
  ])('refuses %j', (input, field) => expect(refusedField('run-length', input)).toBe(field));
});
