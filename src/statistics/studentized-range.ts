import { normalCdf, normalDensity, normalUpper } from './distributions.js';
import { gaussLegendre } from './gauss-legendre.js';

/** Mean and standard deviation of the range of a normal sample, in standard deviations of the population. */
export interface RangeMoments {
  /** E(range)/σ, called d2 on control charts. */
  readonly mean: number;
  /** sd(range)/σ, called d3. */
  readonly sd: number;
}

/** Normal values beyond ± this many standard deviations do not count at 1e-15, even as the extreme of a hundred. */
const REACH = 9;
/** The trapezoidal rule over a bell converges exponentially; this step leaves less than 1e-15. */
const STEP = 0.125;
const ORDER = 80;

const known = new Map<number, RangeMoments>();

/**
 * Moments of the relative range W of n independent standard normal values, n from 2 to some thousands, to 12 digits:
 * E(W) = ∫ P(W > w) dw and E(W²) = ∫ 2 w P(W > w) dw, with P(W ≤ w) = n ∫ φ(x) (Φ(x + w) − Φ(x))^(n−1) dx.
 * Source: Tippett, Biometrika 17 (1925); ASTM Manual on Presentation of Data (names d2, d3; from memory).
 */
export function rangeMoments(n: number): RangeMoments {
  const before = known.get(n);
  if (before) return before;
  const { nodes, weights } = gaussLegendre(ORDER);
  const points = normalPoints();
  let mean = 0;
  let square = 0;
  for (let i = 0; i < ORDER; i++) {
    const w = REACH * (1 + nodes[i]!);
    const mass = REACH * weights[i]! * (1 - rangeCdf(w, n, points));
    mean += mass;
    square += 2 * w * mass;
  }
  const result = { mean, sd: Math.sqrt(square - mean * mean) };
  known.set(n, result);
  return result;
}

interface NormalPoint {
  readonly x: number;
  readonly mass: number;
  readonly below: number;
  readonly above: number;
}

function normalPoints(): NormalPoint[] {
  const points: NormalPoint[] = [];
  for (let x = -REACH; x <= REACH; x += STEP) {
    points.push({ x, mass: STEP * normalDensity(x), below: normalCdf(x), above: normalUpper(x) });
  }
  return points;
}

/** P(W ≤ w): one value is the smallest at x, the others lie within w above it. */
function rangeCdf(w: number, n: number, points: readonly NormalPoint[]): number {
  let sum = 0;
  for (const { x, mass, below, above } of points) {
    const within = x < 0 ? normalCdf(x + w) - below : above - normalUpper(x + w);
    sum += mass * within ** (n - 1);
  }
  return n * sum;
}
