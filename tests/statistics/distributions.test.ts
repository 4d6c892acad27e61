import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import {
  binomialCdf,
  chiSquareQuantile,
  fUpper,
  gammaQuantile,
  normalCdf,
  normalQuantile,
  normalUpper,
} from '../../src/statistics/distributions.js';
import { betaCdf, betaUpper } from '../../src/statistics/incomplete-beta.js';
import { gammaLower, gammaUpper } from '../../src/statistics/incomplete-gamma.js';
import { logGamma } from '../../src/statistics/log-gamma.js';
import { noncentralityOf, noncentralTCdf, noncentralTQuantile } from '../../src/statistics/noncentral-t.js';
import { rangeMoments } from '../../src/statistics/studentized-range.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { relativeError } from '../support/numbers.js';

interface Table {
  readonly logGamma: readonly [number, string][];
  readonly normal: readonly [number, string][];
  readonly beta: readonly [number, number, number, string][];
  readonly binomial: readonly [number, number, number, string][];
  readonly gammaLower: readonly [number, number, string][];
  readonly noncentralT: readonly [number, number, number, string][];
  readonly rangeMoments: readonly [number, string, string][];
}
// Made with mpmath 1.3.0 by tests/reference/write-distributions.py.
const table = JSON.parse(
  readFileSync(new URL('../reference/distributions.json', import.meta.url), 'utf8'),
) as unknown as Table;

describe('normal distribution', () => {
  it(titleOf(reference('A2-REJECTS')), () => {
    const item = reference('A2-REJECTS');
    const rejects = (width: number) => normalCdf(-width) + normalUpper(width);
    expect(relativeError(rejects(3), recomputed(item, 'rejects, fraction'))).toBeLessThan(1e-9);
    expect(relativeError(rejects(4) * 1e6, recomputed(item, 'rejects, ppm at 4 sigma'))).toBeLessThan(1e-9);
    expect(relativeError(rejects(5) * 1e6, recomputed(item, 'rejects, ppm at 5 sigma'))).toBeLessThan(1e-9);
    expect(relativeError(rejects(6) * 1e9, recomputed(item, 'rejects, ppb at 6 sigma'))).toBeLessThan(1e-9);
  });

  // NIST/SEMATECH e-Handbook 7.2.6.3 and 1.3.6.7.1 for the common ones; the far tails with mpmath 1.3.0.
  it.each([
    [0.95, 1.6448536269514722],
    [0.975, 1.959963984540054],
    [1e-10, -6.361340902404056],
    [1e-20, -9.26234008979841],
    [1e-300, -37.0471],
  ])('quantile of %d is %d', (p, z) => {
    expect(relativeError(normalQuantile(p), z)).toBeLessThan(p === 1e-300 ? 1e-6 : 1e-14);
  });

  it.each(table.normal)('Φ(%d): %s (mpmath)', (z, expected) => {
    expect(relativeError(normalCdf(z), Number(expected))).toBeLessThan(1e-14);
    expect(normalUpper(z)).toBeCloseTo(1 - Number(expected), 13);
  });

  it('is 0 and 1 at the ends, and no number of no number', () => {
    expect([normalCdf(Number.NEGATIVE_INFINITY), normalCdf(-40), normalCdf(Number.POSITIVE_INFINITY)]).toEqual([
      0, 0, 1,
    ]);
    expect(normalCdf(Number.NaN)).toBeNaN();
  });

  it('quantile and distribution function undo each other', () => {
    fc.assert(
      fc.property(fc.double({ min: 1e-12, max: 0.5, noNaN: true }), (p) => {
        expect(relativeError(normalCdf(normalQuantile(p)), p)).toBeLessThan(1e-12);
        expect(normalQuantile(1 - p)).toBeCloseTo(-normalQuantile(1 - (1 - p)), 12);
      }),
    );
  });
});

describe('incomplete gamma function and chi-square', () => {
  it.each(table.gammaLower)('shape %d, x %d: %s (mpmath)', (shape, x, expected) => {
    expect(relativeError(gammaLower(x, shape), Number(expected))).toBeLessThan(1e-12);
    expect(Math.abs(gammaLower(x, shape) + gammaUpper(x, shape) - 1)).toBeLessThan(1e-14);
  });

  it('has quantiles that give the probability back, large shapes included', () => {
    const shapes = fc.oneof(
      fc.double({ min: 0.3, max: 100, noNaN: true }),
      fc.double({ min: 100, max: 5e5, noNaN: true }),
    );
    fc.assert(
      fc.property(shapes, fc.double({ min: 1e-6, max: 1 - 1e-6, noNaN: true }), (shape, p) => {
        expect(Math.abs(gammaLower(gammaQuantile(p, shape), shape) - p)).toBeLessThan(1e-12);
      }),
    );
  });

  it('reproduces the chi-square points printed in the NIST/SEMATECH e-Handbook 7.2.6.3 and by Montgomery', () => {
    const handbook = recomputed(reference('A4-NIST7263'), 'chi-square 0.01, 42 df');
    expect(relativeError(chiSquareQuantile(0.01, 42), handbook)).toBeLessThan(1e-11);
    const textbook = reference('A2-CPCI');
    expect(relativeError(chiSquareQuantile(0.025, 19), recomputed(textbook, 'chi-square 0.025, 19 df'))).toBeLessThan(
      1e-11,
    );
    expect(relativeError(chiSquareQuantile(0.975, 19), recomputed(textbook, 'chi-square 0.975, 19 df'))).toBeLessThan(
      1e-11,
    );
  });
});

describe('logarithm of the gamma function', () => {
  it.each(table.logGamma)('ln Γ(%d): %s (mpmath)', (x, expected) => {
    expect(relativeError(logGamma(x), Number(expected))).toBeLessThan(1e-14);
  });
});

describe('incomplete beta function', () => {
  it.each(table.beta)('I(%d; %d, %d): %s (mpmath)', (x, a, b, expected) => {
    expect(relativeError(betaCdf(x, a, b), Number(expected))).toBeLessThan(1e-13);
    expect(betaUpper(x, a, b)).toBeCloseTo(1 - Number(expected), 13);
  });

  const shape = fc.oneof(fc.double({ min: 0.05, max: 20, noNaN: true }), fc.double({ min: 20, max: 1e6, noNaN: true }));
  const share = fc.double({ min: 0, max: 1, noNaN: true });

  it('has the closed forms x^a and 1 − (1 − x)^b where the other shape is one', () => {
    fc.assert(
      fc.property(share, shape, (x, a) => {
        expect(Math.abs(betaCdf(x, a, 1) - x ** a)).toBeLessThan(1e-12);
        expect(Math.abs(betaCdf(x, 1, a) + Math.expm1(a * Math.log1p(-x)))).toBeLessThan(1e-12);
      }),
    );
  });

  it('keeps I(a, b) − I(a + 1, b) = x^a (1 − x)^b / (a B(a, b)) (Abramowitz and Stegun 26.5.16)', () => {
    fc.assert(
      fc.property(share, shape, shape, (x, a, b) => {
        const logStep = a * Math.log(x) + b * Math.log1p(-x) + logGamma(a + b) - logGamma(a + 1) - logGamma(b);
        const difference = betaCdf(x, a, b) - betaCdf(x, a + 1, b);
        // Large logarithms cancel on the right side.
        expect(Math.abs(difference - Math.exp(logStep))).toBeLessThan(1e-13 + 1e-14 * (a + b));
      }),
    );
  });
});

describe('binomial distribution', () => {
  it.each(table.binomial)('at most %d of %d at %d: %s (mpmath)', (count, n, p, expected) => {
    expect(relativeError(binomialCdf(count, n, p), Number(expected))).toBeLessThan(1e-13);
  });

  it('is sure at the ends', () => {
    expect([binomialCdf(0, 5, 0), binomialCdf(4, 5, 1)]).toEqual([1, 0]);
  });
});

describe('F distribution', () => {
  it('keeps small upper tails: two and two degrees of freedom in closed form, 1/(1 + f)', () => {
    for (const f of [0.5, 3, 1e4, 1e9]) expect(relativeError(fUpper(f, 2, 2), 1 / (1 + f))).toBeLessThan(1e-13);
  });
});

describe('noncentral t distribution', () => {
  it.each(table.noncentralT)(
    'P(T ≤ %d), %d degrees of freedom, noncentrality %d: %s (mpmath)',
    (t, df, ncp, expected) => {
      expect(Math.abs(noncentralTCdf(t, df, ncp) - Number(expected))).toBeLessThan(1e-12);
    },
  );

  it('is Student’s t at noncentrality 0, the Cauchy distribution at one degree of freedom', () => {
    for (const t of [-30, -1, -0.2, 0, 0.7, 5, 1000]) {
      expect(noncentralTCdf(t, 1, 0)).toBeCloseTo(0.5 + Math.atan(t) / Math.PI, 13);
    }
  });

  const degrees = fc.oneof(fc.integer({ min: 1, max: 50 }), fc.integer({ min: 50, max: 1_000_000 }));
  const probabilities = fc.double({ min: 0.001, max: 0.999, noNaN: true });

  it('quantile and noncentrality undo the distribution function', () => {
    fc.assert(
      fc.property(degrees, fc.double({ min: -40, max: 5000, noNaN: true }), probabilities, (df, ncp, p) => {
        const t = noncentralTQuantile(p, df, ncp);
        expect(Math.abs(noncentralTCdf(t, df, ncp) - p)).toBeLessThan(1e-11);
        expect(Math.abs(noncentralityOf(p, t, df) - ncp)).toBeLessThan(1e-9 * Math.max(1, Math.abs(ncp)));
      }),
    );
  });

  it('mirrors: P(T(δ) ≤ t) = 1 − P(T(−δ) ≤ −t)', () => {
    fc.assert(
      fc.property(
        degrees,
        fc.double({ min: -50, max: 50, noNaN: true }),
        fc.double({ min: -80, max: 80, noNaN: true }),
        (df, ncp, t) => {
          expect(Math.abs(noncentralTCdf(t, df, ncp) + noncentralTCdf(-t, df, -ncp) - 1)).toBeLessThan(1e-12);
        },
      ),
    );
  });
});

describe('moments of the range', () => {
  it.each(table.rangeMoments)('n = %d: %s and %s (mpmath)', (n, mean, sd) => {
    expect(relativeError(rangeMoments(n).mean, Number(mean))).toBeLessThan(1e-11);
    expect(relativeError(rangeMoments(n).sd, Number(sd))).toBeLessThan(1e-10);
  });
});
