import { apart, casesByR, pairsOf } from '../reference/by-r.js';
import { runRow } from './run-row.js';

/**
 * 200 distributions with limits, their points and indices by the quantiles of R 4.2.2
 * (tests/reference/write-percentile-capability.R). R's numbers are kept to 12 digits, which is 5e-12 of a number: 1e-11.
 */
const INDICES = ['pp', 'ppl', 'ppu', 'ppk'];

interface Given {
  readonly name: string;
  readonly parameters: Readonly<Record<string, number>>;
}

const cases = casesByR('percentile-capability-by-r.json').map(({ input, expected }) => ({
  ...{ input, expected },
  found: runRow<Record<string, unknown>>('capability-percentile', input),
  given: input.distribution as Given,
}));

describe('percentile capability against R', () => {
  it.each(['normal', 'lognormal', 'weibull', 'gumbel', 'gamma'])('points and indices of %s distributions', (name) => {
    const drawn = cases.filter(({ given }) => given.name === name);
    expect(drawn).toHaveLength(40);
    for (const { found, expected, input } of drawn) {
      expect({ input, apart: apart(pairsOf(found, expected), 1e-11) }).toEqual({ input, apart: [] });
    }
  });

  it('tells those indices that the limits allow, and no other', () => {
    for (const { found, expected } of cases) {
      const told = (answer: object) => INDICES.filter((name) => name in answer);
      expect(told(found)).toEqual(told(expected));
    }
    const below = cases.filter(({ expected }) => Number(expected.ppk) < 0.7);
    const moved = cases.filter(({ given }) => 'threshold' in given.parameters);
    expect([below.length > 10, moved.length > 20]).toEqual([true, true]);
  });
});
