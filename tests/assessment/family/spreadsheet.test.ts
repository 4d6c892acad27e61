import fs from 'node:fs';
import path from 'node:path';
import { familyStudy } from '../../../src/assessment/family/study.js';
import { buildsOf, studyInput } from '../../support/study-input.js';

const sheet = (name: string): string[][] =>
  fs
    .readFileSync(path.join(import.meta.dirname, '..', '..', 'reference', name), 'utf8')
    .trimEnd()
    .split('\n')
    .map((line) => line.split(','));

/*
 * family-sheet.csv opens in a spreadsheet program and computes itself; what it comes to stands in family-sheet-values.csv.
 * tests/reference/write-family-sheet.py says how both are made.
 */
const values = sheet('family-sheet-values.csv');
const of = (label: string): number => Number(values.find(([name]) => name === label)![1]);
const [heads, ...lines] = values;
const builds = lines.filter(([name]) => name!.startsWith('B-'));
const column = (head: string): number[] =>
  builds.map((line) => line[heads!.indexOf(head)]!).flatMap((cell) => (cell === '' ? [] : [Number(cell)]));

it('comes to what a spreadsheet comes to: eight builds of two to four values, number by number', () => {
  const measured = builds.map((line) =>
    line
      .slice(1, 5)
      .filter((cell) => cell !== '')
      .map(Number),
  );
  const { chart, index, listed } = familyStudy(
    studyInput(buildsOf(measured), { plan: { subgroup: 'build', runRules: ['ewma', 'cusum'] }, baseline: 8 }),
  );
  expect(listed.map((row) => row.values)).toEqual(column('n'));
  const near = (found: readonly number[], expected: readonly number[]) => {
    expect(found).toHaveLength(expected.length);
    for (const [place, value] of expected.entries()) expect(found[place]).toBeCloseTo(value, 5);
  };
  near(
    chart.points.map(({ value }) => value),
    column('mean'),
  );
  near(chart.ranges, column('range'));
  near(chart.ewma!.points, column('ewma'));
  near(chart.cusum!.high, column('sum up'));
  near(chart.cusum!.low, column('sum down'));
  const { centre, sigma, lower, upper } = chart.limits!;
  near(
    [centre, sigma, lower, upper],
    ['centre', 'sigma', 'lower limit of the chart', 'upper limit of the chart'].map(of),
  );
  near([index.n, index.builds, index.mean!, index.sd!], ['values', 'builds', 'mean', 'standard deviation'].map(of));
  expect(index.ppk).toBeCloseTo(of('Ppk'), 7);
  const spread = index.spread!;
  near(
    [spread.mean, spread.sd, spread.within!, spread.between!, spread.effectiveValues, spread.degreesOfFreedom],
    [
      ...['mean of means', 'standard deviation by builds', 'within builds', 'between builds'],
      ...['effective values', 'degrees of freedom'],
    ].map(of),
  );
  // Found there by goal seek over 200 steps of the distribution: three digits.
  expect(index.bounds.independent).toBeCloseTo(of('bound of independent values'), 2);
  expect(index.bounds.builds).toBeCloseTo(of('bound by builds'), 2);
  expect(index.ppkLower).toBe(index.bounds.builds);
});

it('has the same cells as formulas, so that anybody may open it', () => {
  const formulas = sheet('family-sheet.csv');
  // A formula may hold commas, and stands in quotation marks then.
  expect(formulas.length).toBe(values.length);
  expect(formulas.filter((line) => line.some((cell) => cell.replace('"', '').startsWith('='))).length).toBeGreaterThan(
    200,
  );
  for (const [place, line] of builds.entries()) expect(formulas[place + 1]!.slice(0, 5)).toEqual(line.slice(0, 5));
});
