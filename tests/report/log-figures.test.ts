import type { Facts } from '../../src/dossier/facts.js';
import type { LogFinding } from '../../src/dossier/schema.js';
import { findingFigure } from '../../src/report/finding-figure.js';
import { channelFigure, layerFigure, plottedChannels } from '../../src/report/log-figures.js';
import type { LotFigure } from '../../src/report/lot-figure.js';
import type { Cell } from '../support/cell.js';
import { factsOf } from '../support/lot-facts.js';
import { marksOf, marksOutside, textsOf } from '../support/scenes.js';

/** A closure in which two recipes ran: the first implant by RC, all other parts by RD. */

const LOT = 'lots/L-1/lot.yaml';
const RC_ABOVE = { alert: '20', action: '50', reject: '100' };

function twoRecipes({ documents }: Cell): void {
  const recipe = documents['site/recipe.yaml']!;
  const [window] = recipe.chamber.windows;
  const other = structuredClone(recipe);
  const ppm = { channel: 'oxygen', ucum: '[ppm]' };
  documents['site/recipe-other.yaml'] = { ...other, recipe: 'RD', revision: 1 };
  // 0.003 % are 30 ppm.
  other.chamber.windows = [{ ...window, ucum: '%', above: { action: '0.003', reject: '0.01' } }];
  const [deposit, peen] = other.zones[0].steps;
  peen.windows = [{ ...ppm, above: { action: '25' } }];
  deposit.windows = [{ ...ppm, above: { action: '15' }, layers: { from: 1, to: 2 } }];
  const lot = documents[LOT]!;
  for (const part of [lot.implants[1], ...lot.coupons]) part.recipe = { recipe: 'RD', revision: 1 };
}

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf(twoRecipes);
});

const build = () => facts.lot.body.builds[0]!;
const limitsIn = ({ scene }: LotFigure): string[] => textsOf(scene).filter((text) => /(above|below) \d/.test(text));
const dashedLines = ({ scene }: LotFigure) => marksOf(scene, 'line').filter(({ dash }) => dash !== undefined);

it('draws the windows of every recipe that ran in the chamber, in one unit', () => {
  const figure = channelFigure(facts, build(), 'oxygen')!;
  expect(RC_ABOVE).toEqual(facts.recipes.get('RC rev 2')!.body.chamber.windows[0]!.above);
  expect(limitsIn(figure).sort()).toEqual(['action above 30', 'action above 50', 'alert above 20', 'reject above 100']);
  const heights = new Set(dashedLines(figure).map(({ y1 }) => y1));
  expect(heights.size).toBe(4);
});

it('draws by layer those of the chamber over all, and those of a step over the layers of its zone', () => {
  const figure = layerFigure(facts, build(), 'oxygen')!;
  const texts = limitsIn(figure);
  expect(texts).toEqual(
    expect.arrayContaining(['action above 30', 'action above 50', 'action above 25, I2-span peening and 2 more']),
  );
  expect(texts).toContain('Line, layers 1 to 2: action above 15, I2-span deposition and 2 more');
  const lines = dashedLines(figure);
  const widths = lines.map(({ x1, x2 }) => x2 - x1);
  const [short, ...more] = widths.filter((width) => width < Math.max(...widths) - 1);
  expect(more).toEqual([]);
  expect(short! / Math.max(...widths)).toBeCloseTo(2 / 4, 1);
});

it('plots what breaks the inert atmosphere of this build, and nothing for a build without a log', () => {
  expect(plottedChannels(facts, build())).toEqual(['oxygen']);
  const { log: _none, ...without } = build();
  expect(plottedChannels(facts, without)).toEqual([]);
});

/** Six minutes at 60 ppm in an hour, between minutes at 10. */
function findingIn(more: Partial<LogFinding> = {}): LotFigure {
  const { closedAt } = build();
  const at = (minute: number) => new Date(Date.parse(closedAt) + minute * 60_000).toISOString();
  const values = Array.from({ length: 60 }, (_, minute) => (minute >= 30 && minute < 36 ? 60 : 10));
  const outline = {
    channel: 'oxygen',
    ucum: '[ppm]',
    startMs: Date.parse(closedAt),
    bucketMs: 60_000,
    min: values,
    max: values,
  };
  const facts = { direction: 'high' as const, worst: 60, limit: 50 };
  const finding: LogFinding = {
    ...{ id: 'a'.repeat(64), build: 'M1-101', rule: 'excursion', level: 'action', channel: 'oxygen', ucum: '[ppm]' },
    ...{ startedAt: at(30), endedAt: at(36), places: [], steps: [], facts, ...more },
  };
  return findingFigure(finding, { build: 'M1-101', findings: [finding], outlines: [outline], gaps: [] }, closedAt);
}

describe('the small picture of a finding', () => {
  it('shows its time shaded, as much before and behind, and the limit that it left with its level', () => {
    const figure = findingIn();
    // Twelve minutes on each side: minutes 18 to 49 of the hour.
    expect(textsOf(figure.scene)).toEqual(['oxygen, action at 50 ppm', '0.30 h', '0.82 h']);
    const [shade] = marksOf(figure.scene, 'rect');
    expect(shade!.w / figure.scene.width).toBeCloseTo(6 / 31, 1);
    const [limit] = dashedLines(figure);
    const heights = [...marksOf(figure.scene, 'path')[0]!.d.matchAll(/[ML][\d.]+ ([\d.]+)/g)].map(([, y]) => Number(y));
    expect(limit!.y1).toBeGreaterThan(Math.min(...heights));
    expect(limit!.y1).toBeLessThan(Math.max(...heights));
    expect(marksOutside(figure.scene)).toEqual([]);
    expect(figure.alt).toContain('0.50 to 0.60 h since the chamber was closed');
  });

  it.each([
    ['of another channel', { channel: 'argon' }],
    ['without a time', { startedAt: null, endedAt: null }],
  ])('says that nothing is kept around one %s', (_, more) => {
    const { scene, alt } = findingIn(more);
    expect(textsOf(scene)).toContain('no values are kept around it');
    expect(alt).toContain('no values are kept around it');
  });
});
