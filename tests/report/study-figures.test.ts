import { familyStudy } from '../../src/assessment/family/study.js';
import { countFigure } from '../../src/report/count-figure.js';
import { studyFigures } from '../../src/report/study-figures.js';
import { normalNumbers } from '../support/numbers.js';
import { marksOf, textsOf } from '../support/scenes.js';
import { buildsOf, studyInput } from '../support/study-input.js';

const normal = normalNumbers(33);
const quiet = (builds: number, level = 231): number[][] =>
  Array.from({ length: builds }, () => [0, 1].map(() => Math.round(10 * (level + 1.2 * normal())) / 10));
const { pools } = studyInput([], { baseline: 0 }).plan;
const PLAN = { subgroup: 'build', runRules: ['sevenSteady'], pools: { ...pools, machines: ['M1', 'M2'] } };

/** Machines that take turns; on M2 the last four builds moved. */
const onTwo = (index: number) => ({ machine: index % 2 ? 'M2' : 'M1' });
const moved = quiet(28).map((values, index) => (index >= 20 && index % 2 ? values.map((value) => value + 12) : values));
const input = studyInput(buildsOf(moved, onTwo), { plan: PLAN, baseline: 20 });
const study = familyStudy(input, false);
const figures = studyFigures(input.characteristic, study, input.plan, (lot) => `/lots/${lot}`);
const [first, second] = figures;

it('draws machines as panels on one scale, each with the limits of the baseline', () => {
  expect(figures.map(({ label }) => label).slice(0, 2)).toEqual([
    expect.stringContaining('machine M1'),
    expect.stringContaining('machine M2'),
  ]);
  const numbersOf = (figure: typeof first) =>
    textsOf(figure!.figure.scene).filter((text) => /^\d+(\.\d+)?$/.test(text) && Number(text) > 200);
  expect(numbersOf(first).length).toBeGreaterThan(2);
  expect(numbersOf(first)).toEqual(numbersOf(second));
  const { lower, upper } = study.chart.limits!;
  for (const figure of [first, second]) {
    for (const limit of [lower, upper]) expect(figure!.figure.alt).toContain(limit.toFixed(3));
  }
});

it('names why points in a row stand out once, marks each of them, and tells each to who cannot see', () => {
  const words = textsOf(second!.figure.scene).filter((text) => text === 'beyond limit');
  const { points: all, signals } = study.chart;
  const flagged = signals.filter(({ last }) => all[last]!.machine === 'M2');
  expect(flagged.map(({ rule, last }) => [rule, last])).toEqual([21, 23, 25, 27].map((last) => ['beyondLimit', last]));
  expect(words).toHaveLength(1);
  for (const { points } of flagged) expect(second!.figure.alt).toContain(points.at(-1));
});

it('draws range, spread, average and sums beside them, and says of those that the plan does not name that they are no signal', () => {
  const captionOf = (label: RegExp, runRules: string[]) =>
    studyFigures(input.characteristic, study, { runRules }).find((figure) => label.test(figure.label))!.figure.caption;
  expect(figures).toHaveLength(2 + 5);
  expect(captionOf(/moving average/i, ['ewma'])).not.toContain('no signal');
  for (const label of [/moving average/i, /moving range/i, /sum/]) {
    expect(captionOf(label, ['sevenSteady'])).toContain('no signal');
  }
});

it('draws what is no first-pass value open, and a bound as a tip, at the place of its build', () => {
  const apart = [
    { specimen: 'S-R', piece: '', replicate: 1, value: '232', why: 'repeat' as const },
    { specimen: 'S-B', piece: '', replicate: 1, value: '<229', why: 'bound' as const },
  ];
  const rows = input.rows.map((row, index) => (index === 2 ? { ...row, beside: { apart } } : row));
  const with2 = { ...input, rows };
  const drawn = studyFigures(input.characteristic, familyStudy(with2, false), input.plan)[0]!.figure;
  const plain = studyFigures(input.characteristic, study, input.plan)[0]!.figure;
  const count = (figure: typeof drawn, kind: 'circle' | 'path') => marksOf(figure.scene, kind).length;
  expect(count(drawn, 'circle') - count(plain, 'circle')).toBe(1);
  expect(count(drawn, 'path') - count(plain, 'path')).toBe(1);
});

describe('counts of lots', () => {
  const counted = (counts: readonly number[]) =>
    countFigure(
      'Log findings',
      counts.map((count, index) => ({
        ...{ lot: `L-${index}`, name: `B-${index}`, count },
        builtAt: new Date(Date.UTC(2031, 0, 1 + index)).toISOString(),
      })),
      (lot) => `/lots/${lot}`,
    );

  it('stand with the limits of a count chart, and one beyond them is said', () => {
    const figure = counted([1, 0, 2, 1, 1, 0, 1, 12])!;
    // By hand: mean 18 / 8 = 2.25, upper limit 2.25 + 3 √2.25 = 6.75, lower one 0.
    expect(figure.alt).toContain('6.8');
    expect(figure.alt).toContain('2.3');
    expect(figure.alt).toContain('B-7');
  });

  it('are no chart of one lot, or of nothing', () => {
    expect(counted([3])).toBeUndefined();
    expect(counted([0, 0, 0])).toBeUndefined();
  });
});
