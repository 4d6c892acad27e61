import { residualSection } from '../../../src/degradation/residual-section.js';
import { textMetric } from '../../../src/pdf/shaping.js';
import { degradationChart } from '../../../src/report/charts/degradation.js';
import { type LossChart, lossChart } from '../../../src/report/charts/loss-over-time.js';
import { zoneWindowsChart } from '../../../src/report/charts/zone-windows.js';
import { marksOf, marksOutside, textsOf } from '../../support/scenes.js';

const curve = (label: string, rateMmPerYear: number, weeks: number) => ({
  label,
  strengthLeft: Array.from(
    { length: weeks + 1 },
    (_, week) => residualSection({ shape: 'plate', sizeMm: 1.5, rateMmPerYear, weeks: week }).strengthLeft,
  ),
});

const chart = (curves: ReturnType<typeof curve>[], window = { weeks: 12, strengthLeft: 0.6 }) =>
  degradationChart({ title: 'Strength left', curves, window, notes: ['computed'] }, textMetric);

it('draws a curve for each rate and says what the window asks for', () => {
  const scene = chart([curve('slow', 0.2, 18), curve('fast', 0.5, 18)]);
  expect(marksOf(scene, 'path').filter((mark) => mark.stroke !== undefined)).toHaveLength(2);
  expect(textsOf(scene)).toEqual(
    expect.arrayContaining(['slow', 'fast', 'at least 60 % inside the window', 'healing window ends at week 12']),
  );
});

it.each([
  ['a metal that does not go', [curve('none', 0, 4)], { weeks: 4, strengthLeft: 1 }],
  ['a section that is gone before the window ends', [curve('gone', 40, 20)], { weeks: 20, strengthLeft: 0.01 }],
  ['a window beyond the curves', [curve('short', 0.3, 2)], { weeks: 520, strengthLeft: 0.5 }],
  ['very long words', [curve('rate '.repeat(60), 0.3, 9)], { weeks: 8, strengthLeft: 0.5 }],
])('stays within its borders for %s', (_, curves, window) => {
  expect(marksOutside(chart(curves, window))).toEqual([]);
});

describe('loss against time', () => {
  const curve = [0, 4, 8, 12].map((weeks) => ({ weeks, meanUm: 8 * weeks, lowerUm: 7 * weeks, upperUm: 9 * weeks }));
  const LOSS: LossChart = {
    title: 'Loss of W1',
    curve,
    specimens: [{ weeks: 12, depthUm: 97 }],
    limits: [
      { weeks: 6, depthUm: 100, label: 'I1 span: at most 100 µm for 6 weeks' },
      { weeks: 30, depthUm: 60, label: 'I2 span: at most 60 µm for 30 weeks' },
    ],
    longestWeeks: 12,
    notes: ['straight'],
  };
  const drawn = (change: Partial<LossChart> = {}) => lossChart({ ...LOSS, ...change }, textMetric);

  it('ends at the longest exposure, and says what each window asks', () => {
    const scene = drawn();
    expect(textsOf(scene)).toEqual(
      expect.arrayContaining([
        'longest exposure, 12 weeks: nothing is stated beyond',
        ...LOSS.limits.map(({ label }) => label),
      ]),
    );
    // The band, its two borders and the curve.
    expect(marksOf(scene, 'path')).toHaveLength(4);
    const ends = marksOf(scene, 'path').map(({ d }) =>
      Math.max(...[...d.matchAll(/([\d.]+) [\d.]+/g)].map((at) => Number(at[1]))),
    );
    const upright = marksOf(scene, 'line').find(({ dash }) => dash?.[0] === 1.5)!;
    expect(Math.max(...ends)).toBeCloseTo(upright.x1, 1);
  });

  it('marks what was measured on the implant itself, beyond the longest exposure too, and says what the mark is', () => {
    const scene = drawn({ own: [{ weeks: 20, depthUm: 140 }] });
    expect(textsOf(scene).filter((text) => text.includes('implant itself'))).toHaveLength(1);
    expect(textsOf(drawn()).filter((text) => text.includes('implant itself'))).toEqual([]);
    expect(marksOutside(scene)).toEqual([]);
  });

  it('draws no band where nothing is known of the spread', () => {
    const scene = drawn({ curve: curve.map(({ weeks, meanUm }) => ({ weeks, meanUm })) });
    expect(marksOf(scene, 'path')).toHaveLength(1);
  });

  it.each([
    ['a single duration', { curve: [{ weeks: 12, meanUm: 90, lowerUm: 60, upperUm: 400 }] }],
    ['an end far off', { curve: curve.map((at) => ({ ...at, upperUm: 1e6 })) }],
    ['no loss and no limit', { curve: [], specimens: [], limits: [] }],
    [
      'many long names',
      { limits: Array.from({ length: 6 }, (_, n) => ({ weeks: n + 1, depthUm: 90 + n, label: 'zone '.repeat(60) })) },
    ],
  ])('stays within its borders: %s', (_, change) => {
    expect(marksOutside(drawn(change))).toEqual([]);
  });
});

it('draws each zone of an implant with what is left and what has to be, and hatches what is not known', () => {
  const zones = [
    {
      head: 'span: inside',
      lines: ['peening, every 2 layers'],
      left: { mean: 0.82, lower: 0.8, upper: 0.85 },
      limit: 0.75,
    },
    { head: 'hole: cannot be decided', lines: ['words '.repeat(80)], left: undefined, limit: 1 },
  ];
  const scene = zoneWindowsChart({ title: 'Zones of I1', zones }, textMetric);
  expect(textsOf(scene)).toEqual(
    expect.arrayContaining(['span: inside', 'hole: cannot be decided', 'has to keep 75 %', 'has to keep 100 %']),
  );
  expect(marksOutside(scene)).toEqual([]);
});
