import { SceneBuilder } from '../../../src/base/scene.js';
import { toSvg } from '../../../src/report/charts/scene-svg.js';
import {
  HOSTILE,
  sampleChannelPlot,
  sampleGenealogy,
  sampleHistogram,
  sampleLotsOverTime,
  sampleTimeline,
  sampleZoneMap,
} from '../../support/record-sample.js';
import { xmlProblem } from '../../support/xml.js';

const samples = {
  lotsOverTime: sampleLotsOverTime(),
  histogram: sampleHistogram(),
  channel: sampleChannelPlot(),
  timeline: sampleTimeline(),
  genealogy: sampleGenealogy(),
  zones: sampleZoneMap(),
};

describe('a scene as SVG', () => {
  it.each(Object.entries(samples))('%s is well-formed, named and described', (name, scene) => {
    const svg = toSvg(scene, { title: `The ${name}`, description: 'What it shows', id: name });
    expect(xmlProblem(svg)).toBeUndefined();
    expect(svg).toContain(`<title id="${name}-title">The ${name}</title>`);
    expect(svg).toContain(`<desc id="${name}-desc">What it shows</desc>`);
    expect(svg).toContain(`aria-labelledby="${name}-title ${name}-desc"`);
  });

  it.each(Object.entries(samples))('%s has nothing that a strict content security policy blocks', (_, scene) => {
    const svg = toSvg(scene, { title: 't', description: 'd', id: 'i' });
    expect(svg).not.toMatch(/\sstyle=|<style|<script|\son\w+=|href=|url\(/);
  });

  it('writes hostile texts as texts', () => {
    const builder = new SceneBuilder(() => 10);
    for (const text of HOSTILE) builder.text(0, 10, text);
    const svg = toSvg(builder.finish(100, 20), { title: '</title><script>', description: '"&', id: '"><script>' });
    expect(xmlProblem(svg)).toBeUndefined();
    expect(svg).not.toContain('<script');
  });

  it('refuses to draw at a place that is no number', () => {
    const builder = new SceneBuilder(() => 10);
    expect(() => builder.line(0, Number.NaN, 1, 1, { stroke: '#000000' })).toThrow('draw at NaN');
  });
});
