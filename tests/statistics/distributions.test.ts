import { readFileSync } from 'node:fs';
import gamma from '@stdlib/stats-base-dists-gamma';
import fc from 'fast-check';
import {
  chiSquareQuantile,
  fUpper,
  gammaQuantile,
  normalCdf,
  normalQuantile,
  normalUpper,
} from '../../src/statistics/distributions.js';
import { gammaLower, gammaUpper } from '../../src/statistics/incomplete-gamma.js';
import { noncentralityOf, noncentralTCdf, noncentralTQuantile } from '../../src/statistics/noncentral-t.js';
import { rangeMoments } from '../../src/statistics/studentized-range.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { relativeError } from '../support/numbers.js';

interface Table {
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

  it('agrees with @stdlib where that is right (small shapes)', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.05, max: 100, noNaN: true }),
        fc.double({ min: -3, max: 4, noNaN: true }),
        (shape, z) => {
          const x = Math.max(1e-3, shape + z * Math.sqrt(shape));
          expect(relativeError(gammaLower(x, shape), gamma.cdf(x, shape, 1))).toBeLessThan(1e-11);
        },
      ),
    );
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
