import { probabilityPoints } from '../../../src/assessment/family/probability-points.js';
import { familyStudy } from '../../../src/assessment/family/study.js';
import { FAMILY_FORMULAS } from '../../../src/calculations/family-formulas.js';
import { textMetric } from '../../../src/pdf/shaping.js';
import { probabilityPlot } from '../../../src/report/charts/probability-plot.js';
import { probabilityFigures } from '../../../src/report/probability-figures.js';
import { expectedShares } from '../../../src/statistics/probability-plot.js';
import { normalNumbers } from '../../support/numbers.js';
import { marksOf, marksOutside } from '../../support/scenes.js';
import { buildsOf, studyInput } from '../../support/study-input.js';

function plotsOf(
  builds: readonly (readonly number[])[],
  given: Omit<Parameters<typeof studyInput>[1], 'baseline'> = {},
) {
  const input = studyInput(buildsOf(builds), { baseline: builds.length, ...given });
  const study = familyStudy(input, false);
  return { input, study, plots: probabilityPoints(input, study) };
}

it('expects ordered values at the medians of order statistics', () => {
  // qbeta(0.5, i, 11 - i) for i = 1 … 10 by R 4.2.2; Filliben's approximation is good to 0.0005 there.
  const medians = [
    0.066967, 0.1622627, 0.2585747, 0.3551, 0.4516942, 0.5483058, 0.6449, 0.7414253, 0.8377373, 0.933033,
  ];
  const found = expectedShares(10);
  for (const [index, median] of medians.entries()) expect(Math.abs(found[index]! - median)).toBeLessThan(0.0005);
  expect(expectedShares(1)).toEqual([0.5]);
  expect(FAMILY_FORMULAS).toContain(`p_1 = ${found[0]!.toFixed(6)} and p_5 = ${found[4]!.toFixed(6)}`);
});

it('draws each value once, in order, on the line where they are what the plan says, and off it where one is not', () => {
  const normal = [-1.5, -1, -0.65, -0.37, -0.12, 0.12, 0.37, 0.65, 1, 1.5];
  const farthest = (deviations: readonly number[]) => {
    const { plots } = plotsOf([deviations.map((z) => 230 + 2 * z)]);
    expect(plots).toMatchObject([{ group: '', distribution: 'normal', are: 'values', bounds: 0 }]);
    const { points, line } = plots[0]!;
    expect(points.map(({ value }) => value)).toEqual(deviations.map((z) => 230 + 2 * z));
    return Math.max(...points.map(({ expected, value }) => Math.abs(value - line.start - line.slope * expected)));
  };
  expect(farthest(normal)).toBeLessThan(0.25);
  expect(farthest([...normal.slice(0, -1), 6])).toBeGreaterThan(3);
});

it('frees values of their builds as the test of normality does, and tells of each group where the pool fails', () => {
  const normal = normalNumbers(4);
  const builds = Array.from({ length: 24 }, (_, index) => {
    const level = 230 + 9 * (index % 2) + normal();
    return [0, 1, 2].map(() => level + 0.2 * normal());
  });
  const input = studyInput(
    buildsOf(builds, (index) => ({ machine: index % 2 ? 'M2' : 'M1' })),
    {
      baseline: 24,
      plan: { subgroup: 'build', pools: { ...studyInput([], { baseline: 0 }).plan.pools, machines: ['M1', 'M2'] } },
    },
  );
  const study = familyStudy(input, false);
  const plots = probabilityPoints(input, study);
  expect(plots.map(({ group, are, points }) => [group, are, points.length])).toEqual([
    ['machine M1', 'freed', 36],
    ['machine M2', 'freed', 36],
  ]);
  for (const { points } of plots) expect(points.every(({ value }) => Math.abs(value) < 5)).toBe(true);
});

it('draws one mean of each build whose values are all equal, and calls them means', () => {
  const levels = [229, 230, 230.5, 231, 231.4, 232, 233.1];
  const of = (size: number) => plotsOf(levels.map((level) => Array.from({ length: size }, () => level)));
  const { input, study, plots } = of(3);
  expect(plots).toMatchObject([{ are: 'means', points: { length: 7 } }]);
  const { alt, caption } = probabilityFigures(input, study)[0]!.figure;
  expect(alt).toMatch(/^7 means of builds in order/);
  expect(caption).toMatch(/^All 7 means of builds, in order: /);
  // One value a build is no mean.
  expect(of(1).plots).toMatchObject([{ are: 'values', points: { length: 7 } }]);
});

it('holds values against the fitted distribution that the plan names, in their unit', () => {
  const skewed = [0.4, 0.7, 0.9, 1.1, 1.3, 1.6, 2, 2.4, 3.1, 4.6, 6];
  const plan = { distribution: { name: 'lognormal', why: 'rates are' } };
  const item = { lower: undefined, upper: '20', direction: 'lower-is-better' };
  const { input, study, plots } = plotsOf(
    skewed.map((value) => [value]),
    { plan, item },
  );
  expect(plots).toMatchObject([{ distribution: 'lognormal', line: { start: 0, slope: 1 } }]);
  expect(plots[0]!.points[5]!.expected).toBeCloseTo(study.index.percentile!.middle, 6);
  const [made] = probabilityFigures(input, study);
  expect(made!.figure.caption).toContain('All 11 values');
  expect(made!.figure.alt).toMatch(/^11 values in order against where they would lie\. The smallest lies /);
});

it.each([
  ['all equal', Array.from({ length: 12 }, () => [230])],
  ['four values', [[229], [230], [231], [232]]],
  ['no value', [[]]],
])('draws nothing of %s', (_, builds) => {
  expect(plotsOf(builds).plots).toEqual([]);
});

it('keeps within its borders, with as many points as values', () => {
  const points = expectedShares(50).map((share, index) => ({ expected: 10 * share - 5, value: -3 + index ** 2 / 100 }));
  const scene = probabilityPlot(
    { title: 'Strength', valueLabel: 'Strength /MPa', expectedLabel: 'Expected', points, line: { start: 2, slope: 4 } },
    textMetric,
  );
  expect(marksOf(scene, 'circle')).toHaveLength(50);
  expect(marksOutside(scene)).toEqual([]);
});
