import fc from 'fast-check';
import { textMetric } from '../../../src/pdf/shaping.js';
import { type LotsOverTime, lotsOverTime } from '../../../src/report/charts/lots-over-time.js';
import { toSvg } from '../../../src/report/charts/scene-svg.js';
import type { TimedPoint } from '../../../src/report/charts/timed-points.js';
import { SAMPLE_VALUES, sampleLotsOverTime } from '../../support/record-sample.js';
import { extentOf, marksOf, marksOutside, textsOf } from '../../support/scenes.js';
import { xmlProblem } from '../../support/xml.js';

const bare: LotsOverTime = { title: 'Thickness', valueLabel: 'Thickness /mm', points: [], decimals: 2 };

const day = (number: number) => new Date(Date.UTC(2031, 0, 1 + number)).toISOString();

/** Lots of one value each, a day after each other. */
const pointsOf = (values: readonly number[]): TimedPoint[] =>
  values.map((value, index) => ({ lot: `L-${index + 1}`, at: day(index), name: `P${index + 1}`, value }));

const chart = (values: readonly number[], more: Partial<LotsOverTime> = {}) =>
  lotsOverTime({ ...bare, points: pointsOf(values), ...more }, textMetric);

const dotsOf = (points: readonly TimedPoint[]) => marksOf(lotsOverTime({ ...bare, points }, textMetric), 'circle');

describe('the chart of lots over time', () => {
  it('stays within its borders', () => {
    expect(marksOutside(sampleLotsOverTime())).toEqual([]);
  });

  it('draws a mark per value, higher values higher, in order of time', () => {
    const dots = marksOf(chart(SAMPLE_VALUES), 'circle');
    expect(dots).toHaveLength(SAMPLE_VALUES.length);
    dots.slice(1).forEach((dot, index) => {
      expect(dot.x).toBeGreaterThan(dots[index]!.x);
      expect(Math.sign(dots[index]!.y - dot.y)).toBe(Math.sign(SAMPLE_VALUES[index + 1]! - SAMPLE_VALUES[index]!));
    });
  });

  it('leads from each point to its page where there is one, by keyboard too, or from those that stand out alone', () => {
    const points = pointsOf([1, 2, 9]).map((point) => ({ ...point, to: `/lots/${point.lot}` }));
    points[2] = { ...points[2]!, flag: 'beyond limit' };
    const linksOf = (more: Partial<LotsOverTime>) =>
      lotsOverTime({ ...bare, points, ...more }, textMetric).marks.flatMap((mark) =>
        'link' in mark ? [mark.link!] : [],
      );
    expect(linksOf({}).map(({ to, label, stops }) => [to, label, stops])).toEqual([
      ['/lots/L-1', 'L-1, P1: 1.00', true],
      ['/lots/L-2', 'L-2, P2: 2.00', true],
      ['/lots/L-3', 'L-3, P3: 9.00, beyond limit', true],
    ]);
    expect(linksOf({ stopsAtMarked: true }).map(({ stops }) => stops)).toEqual([false, false, true]);
    const svg = toSvg(lotsOverTime({ ...bare, points }, textMetric), { title: 't', description: 'd', id: 'i' });
    expect(svg.match(/<a href="\/lots\/L-\d" aria-label="L-\d, P\d: \d\.00(, beyond limit)?">/g)).toHaveLength(3);
    expect(svg).toContain('role="group"');
    expect(xmlProblem(svg)).toBeUndefined();
    // Without pages the same marks stand there, and nothing of a link.
    expect(toSvg(chart([1, 2, 9]), { title: 't', description: 'd', id: 'i' })).not.toMatch(/<a |role="group"/);
  });

  it('leads from a change to what led to it, where there is a page of that', () => {
    const ledBy = { to: '/design/change?change=DC-1', label: 'design change DC-1' };
    const scene = lotsOverTime(
      {
        ...bare,
        points: pointsOf([1, 2, 9]),
        changes: [
          { before: 1, label: 'recipe', ledBy },
          { before: 2, label: 'machine' },
        ],
      },
      textMetric,
    );
    expect(scene.marks.flatMap((mark) => ('link' in mark && mark.link ? [mark.link] : []))).toMatchObject([
      { ...ledBy, stops: true },
    ]);
  });

  it('places lots by time, not by their number: a month counts as thirty days', () => {
    const [first, second, third] = dotsOf(
      [0, 10, 40].map((at, index) => ({ ...pointsOf([5])[0]!, lot: `L-${index}`, at: day(at) })),
    );
    expect((third!.x - first!.x) / (second!.x - first!.x)).toBeCloseTo(4, 1);
  });

  it('keeps lots of one day apart, and leads each to its place on the axis', () => {
    const points = ['L-1', 'L-2', 'L-3'].map((lot) => ({ ...pointsOf([5])[0]!, lot, at: day(3) }));
    const scene = lotsOverTime({ ...bare, points }, textMetric);
    const xs = marksOf(scene, 'circle').map(({ x }) => x);
    expect(xs[1]! - xs[0]!).toBeGreaterThan(5);
    expect(xs[2]! - xs[1]!).toBeGreaterThan(5);
    const slanted = marksOf(scene, 'line').filter(({ x1, x2, y1, y2 }) => x1 !== x2 && y1 !== y2);
    expect(slanted.length).toBeGreaterThan(0);
    expect(new Set(slanted.map(({ x2 }) => x2)).size).toBe(1);
  });

  it('gives the values of a lot one column, with a bar from the smallest to the largest and their mean', () => {
    const values = [3, 6, 4.5, 5];
    const points = values.map((value) => ({ ...pointsOf([value])[0]! }));
    const scene = lotsOverTime({ ...bare, points }, textMetric);
    const dots = marksOf(scene, 'circle');
    const bar = marksOf(scene, 'rect')[0]!;
    expect(bar.y).toBeCloseTo(Math.min(...dots.map(({ y }) => y)), 1);
    expect(bar.y + bar.h).toBeCloseTo(Math.max(...dots.map(({ y }) => y)), 1);
    const mean = dots.reduce((sum, { y }) => sum + y / dots.length, 0);
    const strokes = marksOf(scene, 'line').filter(
      ({ x1, x2, y1, y2 }) => y1 === y2 && x1 >= bar.x - 0.1 && x2 <= bar.x + bar.w + 0.1,
    );
    expect(strokes.some(({ y1 }) => Math.abs(y1 - mean) < 0.1)).toBe(true);
  });

  it('shades what the specification allows, to the border where it has one limit alone', () => {
    const tall = (more: Partial<LotsOverTime>) => marksOf(chart([5, 6], more), 'rect')[0]!.h;
    const both = tall({ lowerSpecification: 4, upperSpecification: 7 });
    expect(both).toBeGreaterThan(0);
    expect(tall({ lowerSpecification: 4, reaching: [9] })).toBeGreaterThan(
      tall({ lowerSpecification: 4, upperSpecification: 7, reaching: [9] }),
    );
    expect(marksOf(chart([5, 6]), 'rect')).toEqual([]);
  });

  it('writes days at its axis as long as they have to be', () => {
    const labels = (days: readonly number[]) =>
      textsOf(
        lotsOverTime({ ...bare, points: days.map((at) => ({ ...pointsOf([1])[0]!, at: day(at) })) }, textMetric),
      ).filter((text) => /^2\d{3}(-\d\d)*$/.test(text));
    expect(labels([0, 20])).toContain('2031-01-05');
    expect(labels([0, 300])).toContain('2031-07');
    expect(labels([0, 3000])).toContain('2035');
  });

  it('names the own lot whatever the room, and others as long as no two stand on each other', () => {
    const points = pointsOf(Array.from({ length: 40 }, () => 5)).map((point) => ({
      ...point,
      lot: `L-2031-${point.lot}`,
    }));
    const scene = lotsOverTime({ ...bare, points, own: 'L-2031-L-17' }, textMetric);
    const codes = marksOf(scene, 'text').filter(({ text }) => text.startsWith('L-2031'));
    expect(codes.find(({ text }) => text === 'L-2031-L-17')!.bold).toBe(true);
    expect(codes.length).toBeGreaterThan(3);
    const boxes = codes.map(extentOf).sort((a, b) => a.left - b.left);
    boxes.slice(1).forEach((box, index) => {
      expect(box.left).toBeGreaterThan(boxes[index]!.right);
    });
  });

  it('says in words why a point stands out, and marks it with another shape', () => {
    const scene = sampleLotsOverTime();
    expect(textsOf(scene)).toEqual(
      expect.arrayContaining([
        'beyond upper limit',
        'two of three far from the centre',
        'nine on one side',
        'after new nozzle',
      ]),
    );
    expect(marksOf(scene, 'circle')).toHaveLength(SAMPLE_VALUES.length - 3);
  });

  it('tells below the picture what found no room in it, and puts no word over a point', () => {
    const flag = 'nine on one side, and the words are long';
    const flagged = pointsOf(Array.from({ length: 60 }, (_, index) => Math.sin(index * 1.3))).map((point, index) =>
      index % 2 ? point : { ...point, flag },
    );
    const scene = lotsOverTime({ ...bare, points: flagged }, textMetric);
    const texts = textsOf(scene);
    const within = texts.filter((text) => text === flag).length;
    const notes = texts.slice(texts.findIndex((text) => text.startsWith(`◆ ${flag}:`)));
    expect(within + notes.join(' ').match(/\bP\d+\b/g)!.length).toBe(30);
    expect(within).toBeLessThan(30);
    const circles = marksOf(scene, 'circle');
    for (const { left, right, top, bottom } of marksOf(scene, 'text')
      .filter(({ text }) => text === flag)
      .map(extentOf)) {
      expect(circles.filter(({ x, y }) => x > left && x < right && y > top && y < bottom)).toEqual([]);
    }
  });

  it('says once why points in a row stand out by the same, and names each of them where there is no room for it', () => {
    const drawn = (flag: string, other: string) => {
      const flags = [undefined, flag, flag, flag, other, undefined, flag];
      const points = pointsOf([5, 6, 6.1, 6.2, 9, 5, 6]).map((point, index) => ({
        ...point,
        ...(flags[index] === undefined ? {} : { flag: flags[index] }),
      }));
      const size = { width: 237, plotHeight: 120 };
      const scene = lotsOverTime({ ...bare, points, size }, textMetric);
      expect(marksOf(scene, 'circle')).toHaveLength(2);
      return textsOf(scene);
    };
    const [near, beyond] = ['one side', 'beyond'];
    const texts = drawn(near, beyond);
    expect([near, beyond].map((flag) => texts.filter((text) => text === flag).length)).toEqual([2, 1]);
    expect(texts.filter((text) => text.startsWith('◆'))).toEqual([]);
    const long = drawn(`one side${', and on'.repeat(20)}`, beyond);
    expect(long.join(' ').match(/\bP\d\b/g)).toEqual(['P2', 'P3', 'P4', 'P7']);
  });

  it('marks a point without words where others say why, and names its times', () => {
    const points = pointsOf([1, 2, 3]).map((point, index) => (index === 1 ? { ...point, flag: '' } : point));
    const scene = lotsOverTime({ ...bare, title: '', points, timeLabel: 'Received' }, textMetric);
    expect(marksOf(scene, 'circle')).toHaveLength(2);
    expect(textsOf(scene).filter((text) => text === '' || text.startsWith('◆'))).toEqual([]);
    expect(textsOf(scene)).toContain('Received');
    expect(textsOf(scene)).not.toContain('Chamber closed');
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

  it('stays within its borders whatever the values, days and lots are', () => {
    const point = fc.record({
      lot: fc.string({ maxLength: 40, unit: 'binary-ascii' }),
      name: fc.string({ maxLength: 40, unit: 'binary-ascii' }),
      at: fc
        .date({ min: new Date('2000-01-01'), max: new Date('2090-01-01'), noInvalidDate: true })
        .map((at) => at.toISOString()),
      value: fc.double({ noNaN: true, min: -1e12, max: 1e12 }),
      flag: fc.constantFrom('beyond upper limit', 'nine on one side'),
    });
    const size = fc.constantFrom(undefined, { width: 237, plotHeight: 36 });
    fc.assert(
      fc.property(fc.array(point, { maxLength: 60 }), size, fc.boolean(), (points, given, isJoined) => {
        const sized = given === undefined ? {} : { size: given };
        expect(marksOutside(lotsOverTime({ ...bare, points, isJoined, ...sized }, textMetric))).toEqual([]);
      }),
      { numRuns: 60, seed: 20310504 },
    );
  });
});
