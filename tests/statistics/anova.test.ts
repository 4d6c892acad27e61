import { runCalculation } from '../../src/calculations/calculation.js';
import { calculationNamed } from '../../src/calculations/catalogue.js';
import { oneWayAnova } from '../../src/statistics/anova.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { relativeError } from '../support/numbers.js';

/** The groups of an StRD data set "Simon and Lesage", written as decimal text as the rule of the item says. */
function simonLesage(id: string): number[][] {
  const { treatments, replicates, offset } = reference(id).inputs;
  const whole = String(offset);
  return Array.from({ length: treatments }, (_, j) => {
    const tenth = j === 0 ? 4 : j % 2 === 1 ? 3 : 5;
    return Array.from({ length: replicates }, (_, i) =>
      Number(`${whole}.${i === 0 ? tenth : i % 2 === 1 ? tenth - 1 : tenth + 1}`),
    );
  });
}

function instrumentGroups(): number[][] {
  const rows: [number, number][] = reference('A1-SIRSTV').inputs.rows;
  return [1, 2, 3, 4, 5].map((instrument) => rows.filter(([group]) => group === instrument).map(([, value]) => value));
}

const FIELDS = {
  'between df': 'betweenDf',
  'within df': 'withinDf',
  'SS between': 'betweenSumSquares',
  'MS between': 'betweenMeanSquare',
  'SS within': 'withinSumSquares',
  'MS within': 'withinMeanSquare',
  F: 'f',
  'R-squared': 'rSquared',
  'residual standard deviation': 'residualSd',
} as const;

describe('one-way analysis of variance against the NIST Statistical Reference Datasets', () => {
  it(titleOf(reference('A1-SIRSTV')), () => {
    const item = reference('A1-SIRSTV');
    const answer = runCalculation(calculationNamed('one-way-anova'), { groups: instrumentGroups() }) as never;
    for (const [name, field] of Object.entries(FIELDS)) {
      expect(relativeError(answer[field], recomputed(item, name))).toBeLessThan(1e-12);
    }
  });

  it.each([
    // Certified values, and the F of the data after rounding to doubles, which is what can be computed.
    ['A1-SMLS01', 1e-12],
    ['A1-SMLS03', 1e-12],
    ['A1-SMLS04', 1e-9],
    ['A1-SMLS05', 1e-9],
    ['A1-SMLS07', 1e-6],
    ['A1-SMLS09', 1e-6],
  ])('%s: the F that doubles allow, to %d', (id, tolerance) => {
    const item = reference(id);
    const table = oneWayAnova(simonLesage(id));
    expect(relativeError(table.f, recomputed(item, 'F of the inputs after rounding to IEEE double'))).toBeLessThan(
      tolerance,
    );
    expect(table.withinDf).toBe(recomputed(item, 'within df'));
  });

  it.each(['A1-SMLS01', 'A1-SMLS03'])('%s: the whole table to twelve digits', (id) => {
    const table = oneWayAnova(simonLesage(id));
    for (const [name, field] of Object.entries(FIELDS)) {
      expect(relativeError(table[field], recomputed(reference(id), name))).toBeLessThan(1e-12);
    }
  });

  it('gives the probability of F that two groups of two have in closed form', () => {
    // Two groups chosen so that F is known: t² with 2 degrees of freedom, p from the t distribution in closed form.
    const { f, p } = oneWayAnova([
      [1, 2],
      [3, 4],
    ]);
    expect(f).toBeCloseTo(8, 12);
    // P(|T| > √8) with 2 degrees of freedom = 1 − √8/√(2 + 8).
    expect(p).toBeCloseTo(1 - Math.sqrt(8 / 10), 12);
  });
});
