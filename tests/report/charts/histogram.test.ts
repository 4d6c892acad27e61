import { textMetric } from '../../../src/pdf/shaping.js';
import { histogram } from '../../../src/report/charts/histogram.js';
import { SAMPLE_VALUES, sampleHistogram } from '../../support/record-sample.js';
import { marksOf, marksOutside, textsOf } from '../../support/scenes.js';

const bare = { title: 'Thickness', valueLabel: 'Thickness /mm', decimals: 2 };

/** Counts as read off the picture: the heights of the bars against the scale of the axis. */
function countsRead(scene: ReturnType<typeof histogram>): number[] {
  const labels = marksOf(scene, 'text').filter((mark) => mark.anchor === 'end' && /^\d+$/.test(mark.text));
  const [zero, other] = [labels.find((mark) => mark.text === '0')!, labels.at(-1)!];
  const perCount = (zero.y - other.y) / Number(other.text);
  return marksOf(scene, 'rect').map((bar) => bar.h / perCount);
}

describe('the histogram', () => {
  it('stays within its borders', () => {
    expect(marksOutside(sampleHistogram())).toEqual([]);
  });

  it('counts every value once', () => {
    const counts = countsRead(histogram({ ...bare, values: SAMPLE_VALUES }, textMetric));
    expect(counts.reduce((sum, count) => sum + count, 0)).toBeCloseTo(SAMPLE_VALUES.length, 0);
  });

  it('draws no bar where no value lies', () => {
    const counts = countsRead(histogram({ ...bare, values: [-5, -4.9, -4.8, 5, 5.1, 5.1] }, textMetric));
    expect(counts.map(Math.round)).toEqual([3, 3]);
  });

  it('names limits and target, also where they lie on each other', () => {
    const scene = histogram({ ...bare, values: [1, 2], lower: 1, upper: 1, target: 1 }, textMetric);
    expect(textsOf(scene)).toEqual(expect.arrayContaining(['lower limit 1.00', 'target 1.00', 'upper limit 1.00']));
    const names = marksOf(scene, 'text').filter((mark) => mark.bold && / 1\.00$/.test(mark.text));
    expect(new Set(names.map((mark) => mark.x)).size).toBe(3);
    expect(marksOutside(scene)).toEqual([]);
  });

  it('puts the top of the normal curve above its mean, at the height of the normal density', () => {
    const values = Array.from({ length: 100 }, (_, index) => index / 10);
    const scene = histogram({ ...bare, values, normal: { mean: 5, sd: 2 } }, textMetric);
    const curve = marksOf(scene, 'path').at(-1)!;
    const points = curve.d
      .slice(1)
      .split('L')
      .map((pair) => pair.split(' ').map(Number) as [number, number]);
    const top = points.reduce((best, point) => (point[1] < best[1] ? point : best));
    const tick = (text: string) =>
      marksOf(scene, 'text').find((mark) => mark.text === text && mark.anchor === 'middle')!.x;
    expect((top[0] - tick('4')) / (tick('6') - tick('4'))).toBeCloseTo(0.5, 1);
  });

  it.each([
    ['one value', [3.5]],
    ['equal values', [-2, -2, -2]],
    ['zeros', [0, 0]],
    ['far values', [-1e200, 1e200]],
  ])('draws %s', (_, values) => {
    const scene = histogram({ ...bare, values, normal: { mean: values[0]!, sd: 0 } }, textMetric);
    expect(marksOf(scene, 'rect').length).toBeGreaterThan(0);
    expect(marksOutside(scene)).toEqual([]);
  });
});
