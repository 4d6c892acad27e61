import type { CapabilityResult } from '../../src/assessment/assessment.js';
import type { Facts } from '../../src/dossier/facts.js';
import type { Characteristic } from '../../src/kinds/specification.js';
import { histogramFigure, historyFigure } from '../../src/report/capability-figures.js';
import { genealogyFigures } from '../../src/report/genealogy-figure.js';
import { buildFigure, channelFigure, layerFigure } from '../../src/report/log-figures.js';
import { listed } from '../../src/report/phrases/figures/listed.js';
import { zoneMapFigure } from '../../src/report/zone-map-figure.js';
import { factsOf } from '../support/lot-facts.js';
import { textsOf } from '../support/scenes.js';

/* Whoever cannot see a picture is told its numbers. */

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf(() => {});
});

const VALUES = [7.25, 7.5, -7.75, 8.1, 9.4];
const ITEM = { title: 'Thickness', ucum: 'mm', lower: '7.00', upper: '9.00', target: '8.00' } as Characteristic;
const CAPABILITY = {
  points: VALUES.map((value, index) => ({
    ...{ lot: index > 2 ? 'L-2' : 'L-1', builtAt: `2031-0${index > 2 ? 3 : 1}-04T09:00:00Z` },
    ...{ specimen: `S${index + 1}`, value, ofThisLot: index > 2 },
  })),
  chart: { lower: 7.1, centre: 7.9, upper: 8.7, signals: [{ index: 5, rule: 'beyondLimit' }] },
  ...{ mean: 7.9, sd: 0.4, n: 3, ppk: 0.5 },
} as unknown as CapabilityResult;

it('states every value of a history, its lines and what is marked', () => {
  const { alt } = historyFigure(ITEM, CAPABILITY)!;
  expect(alt).toContain('in mm. Earlier builds, 3: 7.25, 7.5, −7.75. This lot, 2: 8.1, 9.4.');
  for (const line of ['at least 7.000', 'at most 9.000', 'target 8.000']) {
    expect(alt).toContain(line);
  }
  for (const line of ['lower chart limit 7.100', 'centre 7.900', 'upper chart limit 8.700'])
    expect(alt).toContain(line);
  expect(alt).toContain('Marked: S5 beyond upper limit.');
});

it('states the bars of a histogram, whose counts come to all values, its limits and its curve', () => {
  const { alt } = histogramFigure(ITEM, CAPABILITY)!;
  const counts = [...alt.matchAll(/(\d+) from \S+ to \S+?[,.](?= |$)/g)].map(([, count]) => Number(count));
  expect(counts.reduce((sum, count) => sum + count, 0)).toBe(VALUES.length);
  expect(alt).toContain('Lines: lower limit 7.000, target 8.000, upper limit 9.000, normal curve of mean 7.900');
});

it('states the smallest and largest value of a channel, its windows and what left them', () => {
  const build = facts.lot.body.builds[0]!;
  const outline = facts.logParts.get(build.build)!.outlines.find(({ channel }) => channel === 'oxygen')!;
  const known = (values: readonly (number | null)[]) => values.filter((value) => value !== null);
  const [least, most] = [Math.min(...known(outline.min)), Math.max(...known(outline.max))];
  const { alt } = channelFigure(facts, build, 'oxygen')!;
  expect(alt).toContain(`between ${least} and ${most} ppm`);
  expect(alt).toContain('Windows: alert above 20, action above 50, reject above 100.');
  expect(layerFigure(facts, build, 'oxygen')!.alt).toMatch(/over 4 layers, between \S+ and \S+ ppm\. Windows: /);
  expect(buildFigure(facts, build)!.alt).toMatch(/Steps: deposition \d+\.\d\d to \d+\.\d\d h/);
});

it('names everything that a genealogy and a map of zones draw', () => {
  const [genealogy] = genealogyFigures(facts);
  const [, ...drawn] = textsOf(genealogy!.scene);
  expect(drawn.length).toBeGreaterThan(8);
  for (const text of drawn) expect(genealogy!.alt).toContain(text);
  const units = facts.lot.body.implants.map(({ serial }) => ({ serial, verdict: 'conforms' as const }));
  const { alt } = zoneMapFigure(facts, units)!;
  for (const { serial, zones } of facts.lot.body.implants) {
    for (const { zone, layers } of zones)
      expect(alt).toContain(`${serial} ${zone} layers ${layers.from} to ${layers.to}`);
  }
});

it('does not go on for ever', () => {
  expect(listed(Array.from({ length: 43 }, (_, index) => `n${index}`))).toMatch(/n39 and 3 more$/);
});
