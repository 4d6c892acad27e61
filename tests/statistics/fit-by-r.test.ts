import { apart, casesByR, pairsOf } from '../reference/by-r.js';
import { runRow } from './run-row.js';

/**
 * 200 samples that R 4.2.2 fitted by survreg and optim (tests/reference/write-fits-by-r.R): five distributions, half of the
 * first 160 with values known only to lie below or above a limit, the last 40 with a lower end of their own.
 * Tolerances: R's numbers are kept to 12 digits, and its slopes by differences place the top of a gamma likelihood to some
 * 1e-10 and that of a lower end, which is flatter, to some 1e-9; ten times that. Below 0.001 a number may be off by a part
 * of 0.001, since a mean of logarithms can be nearly none.
 */
interface Fitted {
  readonly parameters: Readonly<Record<string, number>>;
  readonly logLikelihood: number;
}

const cases = casesByR('fits-by-r.json').map(({ input, expected }) => ({
  ...{ input, expected },
  found: runRow<Fitted>('fit', input),
  name: String(input.distribution),
  ownEnd: input.threshold === true,
  censored: (input.values as readonly string[]).some((value) => /^[<>]/.test(value)),
}));

describe('fits against R', () => {
  it.each(['normal', 'lognormal', 'weibull', 'gumbel', 'gamma'])('%s, without and with censored values', (name) => {
    const plain = cases.filter((one) => one.name === name && !one.ownEnd);
    expect(plain.filter(({ censored }) => censored).length).toBeGreaterThan(5);
    expect(plain.filter(({ censored }) => !censored).length).toBeGreaterThan(5);
    for (const { found, expected, input } of plain) {
      expect({ input, apart: apart(pairsOf(found, expected), 1e-9, 1e-3) }).toEqual({ input, apart: [] });
    }
  });

  it('with a lower end of its own', () => {
    const moved = cases.filter(({ ownEnd }) => ownEnd);
    expect(moved).toHaveLength(40);
    for (const { found, expected, input } of moved) {
      expect({ input, apart: apart(pairsOf(found, expected), 1e-8, 1e-3) }).toEqual({ input, apart: [] });
    }
  });
});
