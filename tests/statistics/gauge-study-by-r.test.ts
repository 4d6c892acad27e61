import { apart, casesByR, pairsOf } from '../reference/by-r.js';
import { runRow } from './run-row.js';

/**
 * 200 crossed studies that R 4.2.2 took apart by lm and anova (tests/reference/write-gauge-studies.R): squares, F and p,
 * variances and shares. R's numbers are kept to 12 digits and its decomposition loses two or three of sixteen: 1e-9. A
 * variance is a difference of mean squares, known to the digits of the larger one: its tolerance is a part of the total.
 */
interface Study {
  readonly components: Readonly<Record<string, number>>;
}

describe('gauge studies against R', () => {
  const cases = casesByR('gauge-studies-by-r.json').map(({ input, expected }) => {
    return { input, expected, found: runRow<Study>('gauge-study', input) };
  });

  it('squares, F, p and shares agree in each of 200 studies', () => {
    for (const { found, expected } of cases) {
      const { components: _, ...rest } = expected;
      expect(apart(pairsOf(found, rest), 1e-9)).toEqual([]);
    }
  });

  it('variances agree, and those that R finds below zero are none', () => {
    for (const { found, expected } of cases) {
      expect(apart(pairsOf(found.components, expected.components), 1e-9, found.components.total)).toEqual([]);
    }
    const without = cases.filter(({ expected }) => (expected.components as Study['components']).interaction === 0);
    expect(without.length).toBeGreaterThan(20);
  });

  it('tells a share of the tolerance where R has both limits, and nowhere else', () => {
    const both = cases.filter(({ input }) => 'lower' in input && 'upper' in input);
    expect(both.length).toBeGreaterThan(50);
    for (const { found, input } of cases) expect('toleranceShare' in found).toBe('lower' in input && 'upper' in input);
  });
});
