import { tQuantile, tTwoSided, tUpper } from '../../src/statistics/student-t.js';
import { recomputed, reference } from '../reference/open.js';
import { relativeError } from '../support/numbers.js';

describe('Student’s t', () => {
  // scipy 1.17 (a general-purpose library): stats.t.isf.
  it.each([
    [0.975, 1, 12.706204736174694],
    [0.975, 10, 2.228138851986274],
    [0.9999999999, 3, 2225.7692232960744],
    [0.9999999, 1, 3183098.8635132452],
    [0.6, 5, 0.2671808657041451],
    [0.025, 10, -2.228138851986274],
    [0.975, 99998, 1.9599877080090842],
    [0.99999975, 99998, 5.0266428869210955],
  ])('quantile at %d with %d degrees of freedom', (p, df, expected) => {
    expect(relativeError(tQuantile(p, df), expected)).toBeLessThan(1e-9);
  });

  it('is the t of the interval in the NIST/SEMATECH e-Handbook 1.3.5.2', () => {
    expect(relativeError(tQuantile(0.975, 194), recomputed(reference('A6-HEATFLOW'), 't(0.975,194)'))).toBeLessThan(
      1e-9,
    );
  });

  it('has the closed forms of one and two degrees of freedom', () => {
    for (const t of [-3, -0.4, 1e-9, 0.3, 1, 2, 50, 1e6]) {
      // 0.5 − atan(t)/π, written so that the far tail keeps its digits.
      const one = t > 0 ? Math.atan(1 / t) / Math.PI : 1 - Math.atan(-1 / t) / Math.PI;
      expect(relativeError(tUpper(t, 1), one)).toBeLessThan(1e-12);
      const root = Math.sqrt(2 + t * t);
      const two = t > 0 ? 1 / (root * (root + t)) : 0.5 - t / (2 * root);
      expect(relativeError(tUpper(t, 2), two)).toBeLessThan(1e-12);
    }
  });

  it('quantile and distribution undo each other', () => {
    for (const df of [1, 2, 3, 7, 30, 1000, 1e5]) {
      for (const q of [0.4999, 0.3, 0.05, 1e-3, 1e-8, 1e-12]) {
        expect(relativeError(tUpper(-tQuantile(q, df), df), q)).toBeLessThan(1e-9);
      }
    }
    expect(tTwoSided(0, 5)).toBe(1);
  });
});
