import { CalculationError } from '../base/errors.js';
import { chiSquareQuantile, normalCdf, normalDensity, normalQuantile } from './distributions.js';
import { gaussLegendre } from './gauss-legendre.js';
import { requirePositive, requireProbability } from './guards.js';
import { gammaDensity, gammaUpper } from './incomplete-gamma.js';
import { requireComputableConfidence, requireSampleSize } from './inputs.js';
import { noncentralTQuantile } from './noncentral-t.js';
import { type Slope, solveMonotone } from './root.js';

/** How a two-sided tolerance factor is computed. */
export type ToleranceMethod = 'exact' | 'howe' | 'howe-guenther';

export interface ToleranceDesign {
  /** Number of values behind the mean. */
  readonly n: number;
  /** Share of the population that the interval is to hold. */
  readonly content: number;
  readonly confidence: number;
  /** Degrees of freedom of the standard deviation, usually n − 1. */
  readonly degreesOfFreedom: number;
}

/**
 * One-sided factor k: mean + k sd lies above `content` of a normal population with the given confidence.
 * k = t(confidence; df, z_content √n) / √n, the exact noncentral t form.
 * Source: Owen (1963); NIST/SEMATECH e-Handbook 7.2.6.3.
 */
export function oneSidedFactor(design: ToleranceDesign): number {
  checkDesign(design);
  const { n, content, confidence, degreesOfFreedom } = design;
  const rootN = Math.sqrt(n);
  return noncentralTQuantile(confidence, degreesOfFreedom, normalQuantile(content) * rootN) / rootN;
}

/**
 * One-sided factor by the normal approximation: (z_p + √(z_p² − a b)) / a with a = 1 − z_c²/2(n − 1), b = z_p² − z_c²/n.
 * Source: Natrella, in NIST/SEMATECH e-Handbook 7.2.6.3.
 * @throws CalculationError where the approximation has no solution (small n at high confidence).
 */
export function oneSidedFactorNatrella({ n, content, confidence }: Omit<ToleranceDesign, 'degreesOfFreedom'>): number {
  const zContent = normalQuantile(content);
  const zConfidence = normalQuantile(confidence);
  const a = 1 - zConfidence ** 2 / (2 * (n - 1));
  const b = zContent ** 2 - zConfidence ** 2 / n;
  if (a <= 0) throw new CalculationError('n', 'is too small for the normal approximation at this confidence');
  return (zContent + Math.sqrt(zContent ** 2 - a * b)) / a;
}

/** @throws CalculationError naming the part of the design that is out of range. */
function checkDesign({ n, content, confidence, degreesOfFreedom }: ToleranceDesign): void {
  requireSampleSize(n);
  requireProbability(content, 'content');
  requireComputableConfidence(confidence);
  requirePositive(degreesOfFreedom, 'degreesOfFreedom');
}

/** Two-sided factor k by the named method: mean ± k sd holds `content` of a normal population with `confidence`. */
export function twoSidedFactor(design: ToleranceDesign, method: ToleranceMethod): number {
  checkDesign(design);
  if (method === 'exact') return exactTwoSidedFactor(design);
  return method === 'howe' ? howeFactor(design) : howeFactor(design) * guentherCorrection(design);
}

/**
 * Howe's two-sided factor z √(df (1 + 1/n) / χ²), z at (1 + content)/2 and χ² at 1 − confidence.
 * Source: Howe, J. American Statistical Association 64 (1969); NIST/SEMATECH e-Handbook 7.2.6.3.
 */
export function howeFactor({ n, content, confidence, degreesOfFreedom }: ToleranceDesign): number {
  const chiSquare = chiSquareQuantile(1 - confidence, degreesOfFreedom);
  return normalQuantile((1 + content) / 2) * Math.sqrt((degreesOfFreedom * (1 + 1 / n)) / chiSquare);
}

/** Guenther's correction √(1 + (df − 2 − χ²) / (2 (n + 1)²)); with df = n − 1 the published n − 3 − χ². */
function guentherCorrection({ n, confidence, degreesOfFreedom }: ToleranceDesign): number {
  const chiSquare = chiSquareQuantile(1 - confidence, degreesOfFreedom);
  return Math.sqrt(1 + (degreesOfFreedom - 2 - chiSquare) / (2 * (n + 1) ** 2));
}

/** z beyond which the mean of the sample practically never lies, in its own standard deviations. */
const REACH = 9;
const ORDER = 48;

/**
 * The exact two-sided factor: k with 2 ∫ φ(z) P(χ² > df r(z)²/k²) dz = confidence over z > 0, where r(z) solves
 * Φ(z/√n + r) − Φ(z/√n − r) = content. Relative error about 1e-12.
 * Source: Odeh and Owen, Tables for Normal Tolerance Limits (1980); Wald and Wolfowitz (1946) for the integral.
 */
function exactTwoSidedFactor(design: ToleranceDesign): number {
  const start = howeFactor(design);
  return solveMonotone((k) => coverageConfidence(k, design), start, start / 8);
}

/** The confidence with which mean ± k sd holds the content, less the one wanted; and its slope by k. */
function coverageConfidence(k: number, design: ToleranceDesign): Slope {
  const { n, content, confidence, degreesOfFreedom: df } = design;
  const rootN = Math.sqrt(n);
  if (k <= 0) return { value: -confidence, slope: 0 };
  // P(χ² > df r²/k²) falls from 1 to 0 while r passes k, within some standard deviations of √(χ²/df).
  const spread = REACH / Math.sqrt(2 * df);
  const from = Math.min(REACH, rootN * offsetOf(k * Math.max(0, 1 - spread), content));
  const to = Math.min(REACH, rootN * offsetOf(k * (1 + spread + 2 / df), content));
  const { nodes, weights } = gaussLegendre(ORDER);
  let value = 2 * normalCdf(from) - 1 - confidence;
  let slope = 0;
  let r = normalQuantile((1 + content) / 2);
  for (let i = 0; i < ORDER; i++) {
    const z = from + ((to - from) * (1 + nodes[i]!)) / 2;
    r = halfWidthOf(z / rootN, content, r);
    const mass = weights[i]! * (to - from) * normalDensity(z);
    const halfChiSquare = (df * r * r) / (2 * k * k);
    value += mass * gammaUpper(halfChiSquare, df / 2);
    slope += (mass * gammaDensity(halfChiSquare, df / 2) * 2 * halfChiSquare) / k;
  }
  return { value, slope };
}

/** r with Φ(offset + r) − Φ(offset − r) = content: the half-width an interval off centre needs. */
function halfWidthOf(offset: number, content: number, start: number): number {
  let r = Math.max(start, offset + normalQuantile(content));
  for (let step = 0; step < 30; step++) {
    const excess = normalCdf(offset + r) - normalCdf(offset - r) - content;
    const change = excess / (normalDensity(offset + r) + normalDensity(offset - r));
    r -= change;
    if (Math.abs(change) <= 1e-15 * r) break;
  }
  return r;
}

/** The offset at which an interval of half-width r holds exactly the content; 0 when it is too narrow for any. */
function offsetOf(r: number, content: number): number {
  if (r <= normalQuantile((1 + content) / 2)) return 0;
  let low = 0;
  let high = r + 40;
  for (let step = 0; step < 40; step++) {
    const middle = (low + high) / 2;
    if (normalCdf(middle + r) - normalCdf(middle - r) > content) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
