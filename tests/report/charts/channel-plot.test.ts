import { textMetric } from '../../../src/pdf/shaping.js';
import { type ChannelPlot, channelPlot } from '../../../src/report/charts/channel-plot.js';
import { sampleChannelPlot } from '../../support/record-sample.js';
import { marksOf, marksOutside, textsOf } from '../../support/scenes.js';

const bare: ChannelPlot = {
  title: 'Oxygen',
  valueLabel: 'Oxygen /ppm',
  timeLabel: 'Hours',
  outline: [],
  windows: [],
  excursions: [],
  gaps: [],
};

const outline = Array.from({ length: 10 }, (_, hour) => ({ fromH: hour, toH: hour + 1, min: hour, max: hour + 2 }));

describe('the channel plot', () => {
  it('stays within its borders', () => {
    expect(marksOutside(sampleChannelPlot())).toEqual([]);
  });

  it('names levels and says the reason of an excursion in words', () => {
    const texts = textsOf(sampleChannelPlot());
    expect(texts).toEqual(expect.arrayContaining(['alert above 100', 'action above 200', 'reject above 400']));
    expect(texts.join(' ')).toContain('reject: above 400 ppm while peening, layers 61 to 63');
    expect(texts.join(' ')).toContain('hatched: no values');
  });

  it('gives each level a dash of its own', () => {
    const windows = (['alert', 'action', 'reject'] as const).map((level, index) => ({
      fromH: 0,
      toH: 10,
      level,
      upper: 20 + index,
    }));
    const dashes = marksOf(channelPlot({ ...bare, outline, windows }, textMetric), 'line').flatMap((line) =>
      line.dash ? [line.dash.join(' ')] : [],
    );
    expect(new Set(dashes).size).toBe(3);
  });

  it('draws nothing across a gap', () => {
    const whole = marksOf(channelPlot({ ...bare, outline }, textMetric), 'path');
    const parted = marksOf(channelPlot({ ...bare, outline, gaps: [{ fromH: 4.9, toH: 5.1 }] }, textMetric), 'path');
    expect(whole).toHaveLength(1);
    expect(parted).toHaveLength(2);
  });

  it('lists an excursion below when its words find no room', () => {
    const excursions = Array.from({ length: 30 }, (_, index) => ({
      fromH: 5 + index / 100,
      toH: 5.005 + index / 100,
      level: 'action' as const,
      words: 'above the action level while the wheel was changed',
    }));
    const scene = channelPlot({ ...bare, outline, excursions }, textMetric);
    const told = textsOf(scene).filter((text) => text.includes('while the wheel was changed'));
    expect(told).toHaveLength(30);
    expect(marksOutside(scene)).toEqual([]);
  });

  it('draws a plot without a single value', () => {
    expect(marksOutside(channelPlot(bare, textMetric))).toEqual([]);
  });
});
