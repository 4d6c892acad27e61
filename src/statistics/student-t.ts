import { normalQuantile } from './distributions.js';
import { betaCdf } from './incomplete-beta.js';
import { logGamma } from './log-gamma.js';

/** P(T > t) of Student's t; keeps its relative accuracy in the upper tail. */
export function tUpper(t: number, degreesOfFreedom: number): number {
  // Near the middle the probability of the centre keeps more digits.
  if (t * t < 1)
    return 0.5 - (Math.sign(t) * betaCdf((t * t) / (degreesOfFreedom + t * t), 0.5, degreesOfFreedom / 2)) / 2;
  const beyond = betaCdf(degreesOfFreedom / (degreesOfFreedom + t * t), degreesOfFreedom / 2, 0.5) / 2;
  return t >= 0 ? beyond : 1 - beyond;
}

/** P(|T| > |t|) of Student's t. */
export function tTwoSided(t: number, degreesOfFreedom: number): number {
  return 2 * tUpper(Math.abs(t), degreesOfFreedom);
}

/** t with P(T ≤ t) = p, for 0 < p < 1. */
export function tQuantile(p: number, degreesOfFreedom: number): number {
  if (p === 0.5) return 0;
  return p < 0.5 ? -upperQuantile(p, degreesOfFreedom) : upperQuantile(1 - p, degreesOfFreedom);
}

/**
 * t > 0 with P(T > t) = q, for 0 < q < 0.5: Newton's method on ln P against ln t, which is nearly straight in the far
 * tail of small degrees of freedom, kept inside the bracket found so far.
 */
function upperQuantile(q: number, degreesOfFreedom: number): number {
  let low = 0;
  let high = Number.POSITIVE_INFINITY;
  let t = -normalQuantile(q);
  for (let step = 0; step < 200; step++) {
    const tail = tUpper(t, degreesOfFreedom);
    if (tail > q) low = t;
    else high = t;
    const slope = -(t * density(t, degreesOfFreedom)) / tail;
    let next = t * Math.exp((Math.log(q) - Math.log(tail)) / slope);
    if (!(next > low && next < high)) next = high === Number.POSITIVE_INFINITY ? 2 * t : (low + high) / 2;
    const settled = Math.abs(next - t) <= 1e-15 * t;
    t = next;
    if (settled) break;
  }
  return t;
}

function density(t: number, degreesOfFreedom: number): number {
  const half = degreesOfFreedom / 2;
  // For large degrees of freedom the difference loses some digits; the density only steers the search.
  const logScale = logGamma(half + 0.5) - logGamma(half) - 0.5 * Math.log(Math.PI * degreesOfFreedom);
  return Math.exp(logScale - (half + 0.5) * Math.log1p((t * t) / degreesOfFreedom));
}
