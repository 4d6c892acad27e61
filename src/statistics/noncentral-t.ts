import { normalCdf, normalDensity, normalQuantile } from './distributions.js';
import { gaussLegendre } from './gauss-legendre.js';
import { gammaUpper } from './incomplete-gamma.js';
import { stirlingRemainder } from './log-gamma.js';
import { solveMonotone } from './root.js';

/** Half-width, in standard deviations, beyond which a bell-shaped factor is below 1e-17. */
const REACH = 9;
const ORDER = 80;

interface Integrals {
  /** P(T ≤ t). */
  readonly cdf: number;
  /** Its derivative by t: the density. */
  readonly byT: number;
  /** Its derivative by the noncentrality (negative). */
  readonly byNoncentrality: number;
}

/**
 * P(T ≤ t) for T = (Z + noncentrality) / S, with Z standard normal and S = √(χ²/df): the noncentral t distribution.
 * Absolute error below 1e-12 for 1 ≤ df ≤ 1e6 and |noncentrality| ≤ 5000.
 *
 * Method: P = ∫ Φ(t s − δ) f(s) ds, with f the density of S. The integrand is worked out by Gauss–Legendre only where
 * Φ is neither 0 nor 1 and f is not negligible; above that window Φ is 1 and the incomplete gamma function takes over.
 * Source: Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 2, chapter 31 (definition; from memory).
 */
export function noncentralTCdf(t: number, degreesOfFreedom: number, noncentrality: number): number {
  return integrals(t, degreesOfFreedom, noncentrality).cdf;
}

/** t with P(T ≤ t) = p, for 0 < p < 1; relative error about 1e-12 of the larger of t and 1. */
export function noncentralTQuantile(p: number, degreesOfFreedom: number, noncentrality: number): number {
  const z = normalQuantile(p);
  // Normal start (Johnson and Welch 1940): T ≤ t is nearly Z ≤ t c − δ with spread √(1 + t²/2df).
  const spread = Math.sqrt(1 + (noncentrality * noncentrality) / (2 * degreesOfFreedom));
  return solveMonotone(
    (t) => {
      const { cdf, byT } = integrals(t, degreesOfFreedom, noncentrality);
      return { value: cdf - p, slope: byT };
    },
    noncentrality + z * spread,
    spread,
  );
}

/**
 * The noncentrality δ with P(T(df, δ) ≤ t) = p: the confidence bound behind a one-sided capability index or
 * tolerance statement. P falls with δ.
 */
export function noncentralityOf(p: number, t: number, degreesOfFreedom: number): number {
  const z = normalQuantile(p);
  const spread = Math.sqrt(1 + (t * t) / (2 * degreesOfFreedom));
  return solveMonotone(
    (noncentrality) => {
      const { cdf, byNoncentrality } = integrals(t, degreesOfFreedom, noncentrality);
      return { value: p - cdf, slope: -byNoncentrality };
    },
    t - z * spread,
    spread,
  );
}

function integrals(t: number, df: number, noncentrality: number): Integrals {
  if (t >= 0) return integralsOfPositive(t, df, noncentrality);
  const mirrored = integralsOfPositive(-t, df, -noncentrality);
  return { cdf: 1 - mirrored.cdf, byT: mirrored.byT, byNoncentrality: mirrored.byNoncentrality };
}

function integralsOfPositive(t: number, df: number, noncentrality: number): Integrals {
  const width = REACH / Math.sqrt(2 * df);
  const lowest = Math.max(0, 1 - width);
  const highest = 1 + width + 2 / df;
  // Φ(t s − δ) climbs from 0 to 1 within this window of s; with t = 0 it is constant.
  const from = t > 0 ? Math.max(lowest, (noncentrality - REACH) / t) : lowest;
  const to = t > 0 ? Math.min(highest, (noncentrality + REACH) / t) : highest;
  if (t > 0 && to <= from) return { cdf: to <= lowest ? 1 : 0, byT: 0, byNoncentrality: 0 };
  const above = t > 0 && to < highest ? gammaUpper((df * to * to) / 2, df / 2) : 0;
  const window = overWindow(t, df, noncentrality, from, to);
  return { ...window, cdf: window.cdf + above };
}

function overWindow(t: number, df: number, noncentrality: number, from: number, to: number): Integrals {
  const density = scaledChiDensity(df);
  // s^(df − 1) is not smooth at 0 unless df is whole: s = from + length · v^4 makes it so.
  const rough = from === 0 && !Number.isInteger(df);
  const { nodes, weights } = gaussLegendre(ORDER);
  let cdf = 0;
  let byT = 0;
  let byNoncentrality = 0;
  for (let i = 0; i < ORDER; i++) {
    const v = (1 + nodes[i]!) / 2;
    const s = from + (to - from) * (rough ? v ** 4 : v);
    const stretch = (to - from) * (rough ? 4 * v ** 3 : 1);
    const mass = (weights[i]! / 2) * stretch * density(s);
    const z = t * s - noncentrality;
    const slope = mass * normalDensity(z);
    cdf += mass * normalCdf(z);
    byT += slope * s;
    byNoncentrality -= slope;
  }
  return { cdf, byT, byNoncentrality };
}

/**
 * The density of S = √(χ²/df): f(s) = 2 (df/2)^(df/2) / Γ(df/2) · s^(df−1) e^(−df s²/2), written relative to s = 1 so
 * that no large logarithms cancel at large df.
 */
function scaledChiDensity(df: number): (s: number) => number {
  const half = df / 2;
  const logAtOne = Math.log(2) + 0.5 * Math.log(half / (2 * Math.PI)) - stirlingRemainder(half);
  return (s) => {
    if (s <= 0) return df > 1 ? 0 : Math.exp(logAtOne + half);
    const u = s - 1;
    const logS = Math.log1p(u);
    return Math.exp(logAtOne + df * (logS - u - (u * u) / 2) - logS);
  };
}
