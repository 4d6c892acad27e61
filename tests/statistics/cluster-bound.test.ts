import { oneWayAnova } from '../../src/statistics/anova.js';
import { exactLowerBound } from '../../src/statistics/capability-bounds.js';
import { clusterLowerBound, groupedSpread, groupedSums } from '../../src/statistics/cluster-bound.js';
import { fQuantile, fUpper } from '../../src/statistics/distributions.js';
import { noncentralTCdf } from '../../src/statistics/noncentral-t.js';
import { moments } from '../../src/statistics/summary.js';
import { varianceComponents } from '../../src/statistics/variance-components.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { normalNumbers, relativeError } from '../support/numbers.js';

const LONG = process.env.LOTWRIGHT_TEST_LONG;

it(`${titleOf(reference('A9-VC-DYESTUFF'))}, from sums alone`, () => {
  const item = reference('A9-VC-DYESTUFF');
  const spread = groupedSpread(groupedSums(item.inputs.groups));
  expect(relativeError(spread.between!, recomputed(item, 'variance between (ANOVA = REML)'))).toBeLessThan(1e-9);
  expect(relativeError(spread.within!, recomputed(item, 'MS within'))).toBeLessThan(1e-9);
  expect(relativeError(spread.mean, recomputed(item, 'grand mean'))).toBeLessThan(1e-12);
});

it('tests builds of several sizes as the one-way analysis of variance does, and lies near the restricted likelihood', () => {
  const groups = [[229, 231, 230.5], [233], [234, 232.5, 233, 233.5], [228, 229.5], [231, 230]];
  const spread = groupedSpread(groupedSums(groups));
  const table = oneWayAnova(groups);
  expect(relativeError(spread.f!, table.f)).toBeLessThan(1e-10);
  expect(relativeError(spread.p!, table.p)).toBeLessThan(1e-9);
  expect(spread.within).toBeCloseTo(table.withinMeanSquare, 10);
  const { between } = varianceComponents(groups, 'reml');
  expect(relativeError(spread.between!, between)).toBeLessThan(0.2);
});

/** Builds whose means lie far apart, with several values each; the same written out below by other formulas. */
const APART = [
  [10, 10.2, 9.9, 10.1],
  [12, 12.1, 11.8, 12.3],
  [9, 9.1, 8.7, 9.2],
  [11, 11.2, 10.9, 11.1],
  [10.4, 10.6, 10.3, 10.7],
];

it('bounds an index by builds as the formula of a balanced design gives it by hand', () => {
  const [k, j] = [5, 4];
  const table = oneWayAnova(APART);
  const mean = moments(APART.flat()).mean;
  // Mee and Owen (1983): sd² = MSB/J + (1 − 1/J) MSW; R at its upper bound; n* = (R + 1) IJ/(JR + 1).
  const sd = Math.sqrt(table.betweenMeanSquare / j + (1 - 1 / j) * table.withinMeanSquare);
  const r = (table.f / fQuantile(0.05, k - 1, k * (j - 1)) - 1) / j;
  const f = (r + 1) ** 2 / ((r + 1 / j) ** 2 / (k - 1) + (1 - 1 / j) / (k * j));
  const effective = ((r + 1) * k * j) / (j * r + 1);
  const { lower, ...bound } = clusterLowerBound(groupedSpread(groupedSums(APART)), { lower: 3 }, 0.95);
  expect(relativeError(bound.estimate, (mean - 3) / (3 * sd))).toBeLessThan(1e-10);
  expect(relativeError(bound.degreesOfFreedom, f)).toBeLessThan(1e-9);
  expect(relativeError(bound.effectiveValues, effective)).toBeLessThan(1e-9);
  const scale = 3 * Math.sqrt(effective);
  expect(noncentralTCdf(scale * bound.estimate, f, scale * lower)).toBeCloseTo(0.95, 9);
  expect(bound.effectiveValues).toBeLessThan(6);
  expect(lower).toBeLessThan(exactLowerBound(bound.estimate, k * j, 0.95));
});

it('is the bound of independent values where each build has one, and counts builds alone where values in each are equal', () => {
  const single = [3, 4.5, 4, 5.2, 3.9, 4.4, 4.1, 3.6, 5, 4.7];
  const { estimate, lower } = clusterLowerBound(groupedSpread(groupedSums(single.map((x) => [x]))), { upper: 9 }, 0.95);
  expect(lower).toBeCloseTo(exactLowerBound(estimate, 10, 0.95), 9);
  const repeated = groupedSpread({ ...groupedSums(single.map((x) => [x, x, x])), withinSumSquares: 0 });
  expect(clusterLowerBound(repeated, { upper: 9 }, 0.95).lower).toBeCloseTo(lower, 9);
  expect(() => groupedSpread(groupedSums([[1, 2]]))).toThrow('needs at least 2');
});

it('inverts the F distribution', () => {
  for (const [p, a, b] of [
    [0.05, 4, 15],
    [0.01, 1, 3],
    [0.5, 13, 39],
    [0.975, 200, 1],
  ] as const) {
    expect(1 - fUpper(fQuantile(p, a, b), a, b)).toBeCloseTo(p, 9);
  }
  // Table of the F distribution: the upper 5 % point of 4 and 15 degrees of freedom.
  expect(fQuantile(0.95, 4, 15)).toBeCloseTo(3.0556, 4);
});

/** Shares of the variance between builds, and sizes of builds. */
const SIZES: Readonly<Record<string, readonly number[]>> = {
  'five builds of four': [4, 4, 4, 4, 4],
  'fourteen of one to three': [1, 2, 2, 2, 1, 2, 2, 2, 1, 2, 2, 2, 2, 3],
  'eight of one to twenty': [1, 1, 1, 2, 3, 8, 12, 20],
  'three of five': [5, 5, 5],
};
const SHARES = [0, 0.3, 0.6, 0.9];

/** How often the bounds keep the true index, of builds drawn with a share of the variance between them. */
function coverage(sizes: readonly number[], share: number, index: number, draws: number, normal: () => number) {
  const kept = { byBuilds: 0, independent: 0 };
  for (let draw = 0; draw < draws; draw += 1) {
    const groups = sizes.map((size) => {
      const build = 3 * index + Math.sqrt(share) * normal();
      return Array.from({ length: size }, () => build + Math.sqrt(1 - share) * normal());
    });
    if (clusterLowerBound(groupedSpread(groupedSums(groups)), { lower: 0 }, 0.95).lower <= index) kept.byBuilds += 1;
    const { n, mean, sd } = moments(groups.flat());
    if (exactLowerBound(mean / (3 * sd), n, 0.95) <= index) kept.independent += 1;
  }
  return { byBuilds: kept.byBuilds / draws, independent: kept.independent / draws };
}

/** Four standard errors of a share of 0.95. */
const error = (draws: number): number => 4 * Math.sqrt((0.95 * 0.05) / draws);

describe('coverage of the bounds at 95 %', () => {
  const draws = LONG ? 4000 : 300;
  const cases = Object.entries(SIZES).flatMap(([name, sizes], place) =>
    (LONG ? SHARES : [SHARES[place]!]).flatMap((share) =>
      (LONG ? [1, 2] : [1.33]).map((index) => [name, share, index, sizes] as const),
    ),
  );
  it.each(cases)('%s, share between builds %d, index %d', (_, share, index, sizes) => {
    const found = coverage(sizes, share, index, draws, normalNumbers(15));
    expect(found.byBuilds).toBeGreaterThan(0.95 - error(draws));
    // What the record would promise if values of one build were taken as independent.
    if (share === 0) expect(found.independent).toBeGreaterThan(0.95 - error(draws));
    if (share >= 0.6 && sizes.some((size) => size > 3)) expect(found.independent).toBeLessThan(0.95 - error(draws));
  });
});
