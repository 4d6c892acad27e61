import { residualSection } from '../../../src/degradation/residual-section.js';
import { textMetric } from '../../../src/pdf/shaping.js';
import { degradationChart } from '../../../src/report/charts/degradation.js';
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
