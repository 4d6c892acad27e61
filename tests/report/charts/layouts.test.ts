import { CHART_WIDTH } from '../../../src/base/scene.js';
import { textMetric } from '../../../src/pdf/shaping.js';
import { genealogy } from '../../../src/report/charts/genealogy.js';
import { timeline } from '../../../src/report/charts/timeline.js';
import { zoneMap } from '../../../src/report/charts/zone-map.js';
import { sampleGenealogy, sampleTimeline, sampleZoneMap } from '../../support/record-sample.js';
import { extentOf, marksOf, marksOutside, textsOf } from '../../support/scenes.js';

describe('the genealogy', () => {
  const node = (id: string) => ({ id, title: id, lines: ['powder'] });
  const pictures = (nodes: string[], edges: [from: string, to: string, label?: string][]) =>
    genealogy(
      {
        title: 'G',
        continued: 'G, continued',
        nodes: nodes.map(node),
        edges: edges.map(([from, to, label]) => ({ from, to, ...(label === undefined ? {} : { label }) })),
      },
      textMetric,
    );
  const draw = (nodes: string[], edges: [string, string][]) => pictures(nodes, edges)[0]!;

  it('stays within its borders', () => {
    expect(marksOutside(sampleGenealogy())).toEqual([]);
  });

  it('puts every thing right of its ingredients', () => {
    const edges: [string, string][] = [
      ['a', 'b'],
      ['b', 'c'],
      ['a', 'c'],
      ['d', 'c'],
    ];
    const titles = marksOf(draw(['c', 'a', 'd', 'b'], edges), 'text').filter((mark) => mark.bold);
    const x = new Map(titles.map((mark) => [mark.text, mark.x]));
    for (const [from, to] of edges) expect(x.get(from)!).toBeLessThan(x.get(to)!);
  });

  it('draws no two things on each other', () => {
    const nodes = Array.from({ length: 24 }, (_, index) => `n${index}`);
    const edges = nodes.flatMap((name, index) =>
      index % 5 === 4
        ? []
        : ([[name, `n${Math.min(23, index + 5)}`]] as [string, string][]).filter(([a, b]) => a !== b),
    );
    const boxes = marksOf(draw(nodes, edges), 'rect');
    expect(boxes).toHaveLength(24);
    boxes.forEach((a, index) => {
      for (const b of boxes.slice(index + 1)) {
        const apart = a.x + a.w <= b.x || b.x + b.w <= a.x || a.y + a.h <= b.y || b.y + b.h <= a.y;
        expect(apart).toBe(true);
      }
    });
  });

  it('leads a long line round the things between', () => {
    const scene = draw(
      ['a', 'b', 'c', 'd'],
      [
        ['a', 'b'],
        ['b', 'c'],
        ['c', 'd'],
        ['a', 'd'],
      ],
    );
    const level = marksOf(scene, 'line').map((line) => line.y1);
    const middle = marksOf(scene, 'rect').find((_, index) => index === 1)!;
    for (const y of level) expect(y < middle.y || y > middle.y + middle.h).toBe(true);
    expect(level).toHaveLength(2);
  });

  it('draws a circle, each thing of it once', () => {
    const scene = draw(
      ['a', 'b', 'c'],
      [
        ['a', 'b'],
        ['b', 'c'],
        ['c', 'b'],
      ],
    );
    expect(marksOf(scene, 'rect')).toHaveLength(3);
    expect(marksOutside(scene)).toEqual([]);
  });

  it('goes on below where the width ends, names again what it takes from above, and draws each arrow once', () => {
    const names = Array.from({ length: 40 }, (_, index) => `PS-${String(index + 1).padStart(2, '0')}`);
    const edges = names.flatMap((name, index) =>
      [1, 7].flatMap((back) =>
        index >= back ? [[names[index - back]!, name, `${10 * index + back} g`] as [string, string, string]] : [],
      ),
    );
    const all = pictures(names, edges);
    for (const scene of all) {
      expect(scene.width).toBe(CHART_WIDTH);
      expect(scene.height).toBeLessThan(620);
      expect(marksOutside(scene)).toEqual([]);
    }
    const texts = all.flatMap((scene) => marksOf(scene, 'text'));
    // Each thing once in bold, each mass once, and every thing that is told again as it is called.
    expect(
      texts
        .filter(({ bold, text }) => bold && text.startsWith('PS-'))
        .map(({ text }) => text)
        .sort(),
    ).toEqual(names);
    expect(texts.flatMap(({ text }) => (text.endsWith(' g') ? [text] : [])).sort()).toEqual(
      edges.map(([, , label]) => label).sort(),
    );
    expect(texts.every(({ text }) => !text.includes('…'))).toBe(true);
    const tips = all.flatMap((scene) => marksOf(scene, 'path')).filter(({ d }) => d.endsWith('Z'));
    expect(tips).toHaveLength(edges.length);
  });

  it('writes no two masses on each other', () => {
    const from = Array.from({ length: 9 }, (_, index) => `in ${index}`);
    const [scene] = pictures(
      ['out', ...from],
      from.map((name) => [name, 'out', '1234.5 g']),
    );
    const boxes = marksOf(scene!, 'text')
      .filter(({ text }) => text === '1234.5 g')
      .map(extentOf);
    expect(boxes).toHaveLength(9);
    boxes.forEach((a, index) => {
      for (const b of boxes.slice(index + 1)) expect(a.bottom <= b.top || b.bottom <= a.top).toBe(true);
    });
  });

  it('refuses an edge to nothing', () => {
    expect(() => draw(['a', 'b'], [['a', 'z']])).toThrow('"z"');
  });

  it('draws nothing but a title for nothing', () => {
    expect(marksOf(draw([], []), 'rect')).toEqual([]);
  });
});

describe('the timeline', () => {
  it('stays within its borders', () => {
    expect(marksOutside(sampleTimeline())).toEqual([]);
  });

  it('tells every finding below the picture, with level, time and words', () => {
    const texts = textsOf(sampleTimeline());
    expect(texts).toContain('1 reject, 5.00 to 5.24 h: oxygen above 400 ppm');
    expect(texts).toContain('whole build');
  });

  it('draws a build of many thousand steps with few marks', () => {
    const spans = Array.from({ length: 20_000 }, (_, index) => ({ fromH: index / 1000, toH: (index + 0.9) / 1000 }));
    const scene = timeline(
      { title: 'T', timeLabel: 'h', lanes: [{ label: 'deposit', spans }], findings: [] },
      textMetric,
    );
    expect(scene.marks.length).toBeLessThan(1500);
  });

  it('refuses a finding in a lane that does not exist', () => {
    const findings = [{ fromH: 0, toH: 1, lane: 'mill', level: 'alert' as const, words: 'w' }];
    expect(() => timeline({ title: 'T', timeLabel: 'h', lanes: [], findings }, textMetric)).toThrow('"mill"');
  });
});

describe('the map of zones', () => {
  it('stays within its borders', () => {
    expect(marksOutside(sampleZoneMap())).toEqual([]);
  });

  it('says verdict and reason in words', () => {
    const texts = textsOf(sampleZoneMap());
    expect(texts).toEqual(
      expect.arrayContaining(['26-031: conforms', '26-032: does not conform', '26-033: cannot be decided']),
    );
    expect(texts).toContain('1 screw seats, layers 61 to 63, does not conform: oxygen above reject level');
  });

  it('keeps a single layer of a thousand visible', () => {
    const spans = [{ fromLayer: 500, toLayer: 500, verdict: 'does not conform' as const, words: 'w' }];
    const zones = [{ label: 'body', fromLayer: 1, toLayer: 1000, spans }];
    const scene = zoneMap({ title: 'Z', units: [{ serial: 's', verdict: 'does not conform', zones }] }, textMetric);
    const dark = marksOf(scene, 'rect').filter((rect) => rect.fill !== undefined && rect.stroke === undefined);
    expect(Math.max(...dark.map((rect) => rect.w))).toBeGreaterThanOrEqual(4);
  });

  it('draws a lot without implants', () => {
    expect(marksOutside(zoneMap({ title: 'Z', units: [] }, textMetric))).toEqual([]);
  });
});
