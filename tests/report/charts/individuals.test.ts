import fc from 'fast-check';
import { textMetric } from '../../../src/pdf/shaping.js';
import { type IndividualsChart, individualsChart } from '../../../src/report/charts/individuals.js';
import { SAMPLE_VALUES, sampleIndividuals } from '../../support/record-sample.js';
import { extentOf, marksOf, marksOutside, textsOf } from '../../support/scenes.js';

const bare: IndividualsChart = {
  title: 'Thickness',
  valueLabel: 'Thickness /mm',
  orderLabel: 'Implant',
  points: [],
  decimals: 2,
};

function chart(values: readonly number[], more: Partial<IndividualsChart> = {}) {
  const points = values.map((value, index) => ({ label: String(index + 1), value }));
  return individualsChart({ ...bare, points, ...more }, textMetric);
}

describe('the individuals chart', () => {
  it('stays within its borders', () => {
    expect(marksOutside(sampleIndividuals())).toEqual([]);
  });

  it('draws a mark per value, higher values higher, in build order', () => {
    const dots = marksOf(chart(SAMPLE_VALUES), 'circle');
    expect(dots).toHaveLength(SAMPLE_VALUES.length);
    dots.slice(1).forEach((dot, index) => {
      expect(dot.x).toBeGreaterThan(dots[index]!.x);
      expect(Math.sign(dots[index]!.y - dot.y)).toBe(Math.sign(SAMPLE_VALUES[index + 1]! - SAMPLE_VALUES[index]!));
    });
  });

  it('says in words why a point stands out, and marks it with another shape', () => {
    const scene = sampleIndividuals();
    expect(textsOf(scene)).toEqual(
      expect.arrayContaining(['beyond upper limit', 'two of three far from the centre', 'nine on one side']),
    );
    expect(marksOf(scene, 'circle')).toHaveLength(SAMPLE_VALUES.length - 3);
  });

  it('tells below the picture what found no room in it', () => {
    const flagged = Array.from({ length: 60 }, (_, index) => ({
      label: `P${index + 1}`,
      value: 5,
      flag: 'nine on one side, and the words are long',
    }));
    const texts = textsOf(individualsChart({ ...bare, points: flagged }, textMetric));
    const within = texts.filter((text) => text === flagged[0]!.flag).length;
    const notes = texts.slice(texts.findIndex((text) => text.startsWith(`◆ ${flagged[0]!.flag}:`)));
    const below = notes.join(' ').match(/\bP\d+\b/g)!.length;
    expect(within + below).toBe(60);
    expect(below).toBeGreaterThan(0);
  });

  it('puts no word over a point', () => {
    const points = Array.from({ length: 30 }, (_, index) => ({
      label: `P${index + 1}`,
      value: Math.sin(index * 1.3),
      ...(index % 4 === 0 ? { flag: 'nine on one side' } : {}),
    }));
    const scene = individualsChart({ ...bare, points }, textMetric);
    const circles = marksOf(scene, 'circle');
    const words = marksOf(scene, 'text')
      .filter((mark) => mark.text === 'nine on one side')
      .map(extentOf);
    expect(words.length).toBeGreaterThan(0);
    for (const box of words) {
      const covered = circles.filter(({ x, y }) => x > box.left && x < box.right && y > box.top && y < box.bottom);
      expect(covered).toEqual([]);
    }
  });

  it('keeps the names of limits apart that lie on each other', () => {
    const scene = chart([5, 5.1], { centre: 5, target: 5, upperLimit: 5, lowerLimit: 5, upperSpecification: 5 });
    const names = marksOf(scene, 'text').filter((mark) => / 5\.00$/.test(mark.text));
    expect(names).toHaveLength(5);
    const rows = names.map((mark) => mark.y).sort((a, b) => a - b);
    rows.slice(1).forEach((y, index) => {
      expect(y - rows[index]!).toBeGreaterThan(9);
    });
  });

  it('thins labels that would stand on each other', () => {
    const points = Array.from({ length: 80 }, (_, index) => ({ label: `LW-2031-${1000 + index}`, value: index }));
    const scene = individualsChart({ ...bare, points }, textMetric);
    const boxes = marksOf(scene, 'text')
      .filter((mark) => mark.text.startsWith('LW-'))
      .map(extentOf);
    expect(boxes.length).toBeGreaterThan(3);
    boxes.slice(1).forEach((box, index) => {
      expect(box.left).toBeGreaterThan(boxes[index]!.right);
    });
  });

  it.each([
    ['no value', []],
    ['one value', [3.5]],
    ['equal values', [0, 0, 0]],
    ['negative values', [-3, -2.5, -2.75]],
    ['very large values', [1e300, 9e300]],
    ['very small values', [1e-12, 3e-12]],
  ])('draws %s', (_, values) => {
    const scene = chart(values, { upperSpecification: Math.max(0, ...values) });
    expect(marksOf(scene, 'circle')).toHaveLength(values.length);
    expect(marksOutside(scene)).toEqual([]);
  });

  it('refuses a value that is no number', () => {
    expect(() => chart([1, Number.NaN])).toThrow('no finite number');
  });

  it('stays within its borders whatever the values and labels are', () => {
    const point = fc.record({
      label: fc.string({ maxLength: 40, unit: 'binary-ascii' }),
      value: fc.double({ noNaN: true, min: -1e12, max: 1e12 }),
      flag: fc.constantFrom('beyond upper limit', 'nine on one side'),
    });
    fc.assert(
      fc.property(fc.array(point, { maxLength: 40 }), (points) => {
        expect(marksOutside(individualsChart({ ...bare, points }, textMetric))).toEqual([]);
      }),
      { numRuns: 60, seed: 20310504 },
    );
  });
});
