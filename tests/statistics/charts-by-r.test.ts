import { RUN_RULES } from '../../src/base/run-rule-names.js';
import { apart, type CaseByR, casesByR, pairsOf } from '../reference/by-r.js';
import { runRow } from './run-row.js';

/**
 * 200 series that R 4.2.2 charted (tests/reference/write-charts.R): individuals, subgroups of equal and of unequal sizes by
 * range and by standard deviation, weighted averages, cumulative sums, counts and fractions, with every run rule.
 * Tolerance: R's numbers are kept to 12 digits, which is 5e-12 of a number, and its integrals are good to some 1e-11: 2e-11.
 * Limits near zero and sums that come back to it are differences of numbers as large as the values: below a thousandth
 * of the largest value, a part of that thousandth. Signals must be the same ones.
 */
interface Chart {
  readonly signals: readonly { readonly index: number; readonly rule: string }[];
}

const cases = casesByR('charts-by-r.json').map((one) => {
  const ruled = one.calculation === 'ewma' || one.calculation === 'cusum' ? {} : { rules: RUN_RULES };
  return { ...one, found: runRow<Chart>(one.calculation!, { ...one.input, ...ruled }) };
});

function placesByRule({ signals }: Chart): Record<string, number[]> {
  const places: Record<string, number[]> = {};
  for (const { index, rule } of signals) {
    places[rule] ??= [];
    places[rule].push(index);
  }
  return places;
}

const largestOf = ({ input }: CaseByR): number => {
  const numbers = [input.values, input.subgroups, input.counts].flat(2).filter((one) => typeof one === 'number');
  return Math.max(...numbers.map(Math.abs));
};

describe('charts against R', () => {
  const kinds = [...new Set(cases.map(({ calculation }) => calculation!))].sort();

  it('has each sort of chart', () => {
    expect(kinds).toEqual(['count-chart', 'cusum', 'ewma', 'individuals-chart', 'subgroup-chart']);
  });

  it.each(kinds)('centre, limits and points of %s', (kind) => {
    for (const one of cases.filter(({ calculation }) => calculation === kind)) {
      const found = apart(pairsOf(one.found, one.expected), 2e-11, largestOf(one) / 1000);
      expect({ input: one.input, apart: found }).toEqual({ input: one.input, apart: [] });
    }
  });

  it.each(kinds)('signals of %s', (kind) => {
    for (const { found, signals, input, calculation } of cases) {
      if (calculation === kind) expect({ input, signals: placesByRule(found) }).toEqual({ input, signals });
    }
  });

  it('has places where each rule finds something', () => {
    const finding = new Set(cases.flatMap(({ signals }) => Object.keys(signals!)));
    expect([...finding].sort()).toEqual(['beyondLimit', ...RUN_RULES].sort());
  });
});
