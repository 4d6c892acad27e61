import { performance } from '../../src/assessment/performance.js';
import type { CharacteristicHistory } from '../../src/dossier/family-history.js';
import type { Characteristic } from '../../src/kinds/specification.js';
import { shareLowerBound } from '../../src/statistics/attribute-sampling.js';
import { binomialCdf } from '../../src/statistics/distributions.js';
import { shapiroWilk } from '../../src/statistics/normality.js';
import { moments } from '../../src/statistics/summary.js';
import { normalNumbers } from '../support/numbers.js';

const ITEM = { lower: '215' } as Characteristic;
const PLAN = { confidence: '0.95', distribution: { name: 'normal', why: 'seen' }, target: '1.33' };

/** What a lot file carries of builds with these values. */
function carried(builds: readonly (readonly number[])[]) {
  const all = builds.flat();
  const { n, mean, sumSquares, min, max } = moments(all);
  const pool: CharacteristicHistory['pool'] = {
    ...{ n, mean, min, max, lots: builds.length, builds: builds.length, sumSquaredDeviations: sumSquares },
    sumSquaredWithinBuilds: builds.reduce((sum, own) => sum + moments(own).sumSquares, 0),
    buildSizes: [...new Set(builds.map(({ length }) => length))].map((values) => {
      const means = moments(builds.filter(({ length }) => length === values).map((own) => moments(own).mean));
      return { values, builds: means.n, mean: means.mean, sumSquaredDeviations: means.sumSquares };
    }),
  };
  const named = builds.map((own, index) => ({
    ...{ lot: `L-${index}`, build: `B-${index}`, builtAt: '2031-02-03T08:00:00Z', censored: 0 },
    ...{ n: own.length, mean: moments(own).mean, min: Math.min(...own), max: Math.max(...own) },
  }));
  return { pool, carried: { groups: builds, builds: named, bounds: 0 } };
}

/** Builds of four, normal within and between. */
function drawn(builds: number, apart: number): number[][] {
  const normal = normalNumbers(7);
  return Array.from({ length: builds }, () => {
    const mean = 231 + apart * normal();
    return Array.from({ length: 4 }, () => mean + 1.5 * normal());
  });
}

const ofBuilds = (builds: readonly (readonly number[])[], plan = PLAN, bounds = 0) => {
  const { pool, carried: known } = carried(builds);
  return performance(ITEM, pool, { ...known, bounds }, plan);
};

it('lets the lower bound count: that by builds where these differ', () => {
  const { ppk, ppkLower, bounds, spread, notes } = ofBuilds(drawn(13, 3));
  expect(bounds.builds!).toBeLessThan(bounds.independent!);
  expect(ppkLower).toBe(bounds.builds);
  expect(bounds.independent!).toBeLessThan(ppk!);
  expect(spread!.p!).toBeLessThan(0.001);
  expect(spread!.effectiveValues).toBeLessThan(20);
  expect(notes.map(({ code }) => code)).toEqual(['performance, not capability']);
});

it.each<[string, number[][], typeof PLAN, string]>([
  ['values that are not normal', [...drawn(13, 1), [208.4, 209.4, 232, 235]], PLAN, 'not normal'],
  [
    'a plan that names another distribution',
    drawn(13, 1),
    { ...PLAN, distribution: { name: 'lognormal', why: 'seen' } },
    'other distribution',
  ],
  ['fewer than ten values', drawn(2, 1), PLAN, 'too few for an index'],
])('states no index for %s, and says so', (_, builds, plan, why) => {
  const { ppk, ppkLower, bounds, notes, within } = ofBuilds(builds, plan);
  expect([ppk, ppkLower, bounds]).toEqual([null, null, { independent: null, builds: null }]);
  expect(notes.map(({ code }) => code)).toEqual([why]);
  const keeping = builds.filter((own) => own.every((value) => value >= 215)).length;
  expect(within).toMatchObject({ builds: builds.length, keeping });
});

it('states no index of a selection: where further values were reported only as a bound', () => {
  const { ppk, notes, mean } = ofBuilds(drawn(13, 1), PLAN, 2);
  expect([ppk, notes]).toEqual([null, [{ code: 'bounds among them', facts: { bounds: 2 } }]]);
  expect(mean).not.toBeNull();
});

it('asks of normality what is left of values without their builds: few builds far apart look like no normal sample', () => {
  const { normality } = ofBuilds(drawn(6, 12));
  expect(normality!.values).toBe(24);
  expect(normality!.p).toBeGreaterThan(0.05);
  expect(shapiroWilk(drawn(6, 12).flat()).p).toBeLessThan(0.05);
});

it('states an index and no bound where all values are of one build', () => {
  const { ppk, ppkLower, bounds, notes } = ofBuilds([drawn(5, 0).flat()]);
  expect(ppk).toBeGreaterThan(1);
  expect([ppkLower, bounds.builds]).toEqual([null, null]);
  expect(notes.map(({ code }) => code)).toContain('one build');
});

it('takes the confidence that the signed plan states', () => {
  const builds = drawn(13, 1);
  const [at95, at99] = ['0.95', '0.99'].map((confidence) => ofBuilds(builds, { ...PLAN, confidence }));
  expect([at95!.confidence, at99!.confidence]).toEqual([0.95, 0.99]);
  expect(at99!.ppkLower!).toBeLessThan(at95!.ppkLower!);
});

it('bounds a share exactly', () => {
  // All of n: the n-th root of 0.05. Otherwise what the binomial distribution says of the bound.
  expect(shareLowerBound(14, 14, 0.95)).toBeCloseTo(0.05 ** (1 / 14), 10);
  expect(1 - binomialCdf(12, 14, shareLowerBound(13, 14, 0.95))).toBeCloseTo(0.05, 10);
  expect(shareLowerBound(0, 14, 0.95)).toBe(0);
});
