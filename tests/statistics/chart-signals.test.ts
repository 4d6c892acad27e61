import { chartSignals } from '../../src/statistics/chart-signals.js';
import { LONGEST_RUN, medianFalseRun, normalStream } from '../../src/statistics/false-signals.js';
import { moments } from '../../src/statistics/summary.js';

const LIMITS = { centre: 0, sigma: 1, lower: -3, upper: 3, rangeUpper: 3.686 };
const found = (values: readonly number[], rules: readonly string[]) =>
  chartSignals(values, LIMITS, rules).map(({ rule, first, last }) => `${rule} ${first}-${last}`);

it('names a pattern once, where it is first complete, and anew after a break', () => {
  const up = Array.from({ length: 12 }, () => 0.5);
  expect(found([...up, -0.5, ...up], ['nineOneSide'])).toEqual(['nineOneSide 0-8', 'nineOneSide 13-21']);
});

it('names every point beyond the limits, and the two of a wide range', () => {
  expect(found([0, 3.1, 3.2, 0], ['movingRange'])).toEqual(['beyondLimit 1-1', 'beyondLimit 2-2']);
  expect(found([-2, 2, 0], ['movingRange'])).toEqual(['movingRange 0-1']);
});

it('finds a small shift that stays, by the sums and by the moving average', () => {
  const shifted = [...Array.from({ length: 5 }, () => 0), ...Array.from({ length: 15 }, () => 1)];
  // Of 1 sigma each step adds 0.5: more than 5 at the eleventh shifted point, from the first one on.
  expect(found(shifted, ['cusum'])).toEqual(['cusum 5-15']);
  // 0.2 of the way each time: 1.2 (1 - 0.8^t) passes 0.987 at the eighth shifted point.
  expect(found([0, 0, ...Array.from({ length: 12 }, () => 1.2)], ['ewma'])).toEqual(['ewma 9-9']);
});

it('says after how many points it signals by chance: ln 2 of the mean 370 where limits are known', () => {
  // A geometric run of mean 370.4 has its middle at 256.4; the middle of 201 runs has a standard error of 26.
  expect(Math.abs(medianFalseRun([], 100_000) - 256.4)).toBeLessThan(80);
  // Four rules of Western Electric: mean 91.75 (Champ and Woodall 1987), so a middle near 64.
  const four = ['twoOfThreeBeyondTwoSigma', 'fourOfFiveBeyondOneSigma', 'eightOneSide'];
  expect(medianFalseRun(four, 100_000)).toBeGreaterThan(45);
  expect(medianFalseRun(four, 100_000)).toBeLessThan(85);
  expect(medianFalseRun(four, 100_000)).toBe(medianFalseRun([...four].reverse(), 100_000));
  expect(medianFalseRun([], 20)).toBeLessThanOrEqual(LONGEST_RUN);
});

it('draws normal numbers', () => {
  const next = normalStream(5);
  const { mean, sd } = moments(Array.from({ length: 20_000 }, next));
  expect(Math.abs(mean)).toBeLessThan(0.03);
  expect(Math.abs(sd - 1)).toBeLessThan(0.02);
});
