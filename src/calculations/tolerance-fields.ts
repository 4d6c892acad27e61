import { z } from 'zod';
import { CalculationError } from '../base/errors.js';
import { LARGEST_SAMPLE, probability, sides } from '../statistics/inputs.js';
import { oneSidedFactor, type ToleranceMethod, twoSidedFactor } from '../statistics/tolerance.js';

/** Input fields shared by the tolerance factor and the tolerance interval. */
export const toleranceFields = {
  content: probability('share of the population that the interval is to hold'),
  confidence: probability('confidence that it holds at least that share'),
  sides: sides('1 for one-sided limits, 2 for an interval'),
  method: z
    .enum(['exact', 'howe', 'howe-guenther'])
    .describe('exact, or for two sides an approximation: howe, howe-guenther')
    .default('exact'),
  degreesOfFreedom: z
    .number()
    .min(1, 'must be at least 1')
    .max(LARGEST_SAMPLE, `must be at most ${LARGEST_SAMPLE}`)
    .describe('degrees of freedom of the standard deviation; n − 1 by default')
    .optional(),
};

interface FactorInput {
  readonly content: number;
  readonly confidence: number;
  readonly sides: 1 | 2;
  readonly method: ToleranceMethod;
  readonly degreesOfFreedom?: number | undefined;
}

/**
 * The tolerance factor that these fields ask for.
 * @throws CalculationError for a one-sided factor by a method that has none.
 */
export function toleranceFactorOf(given: FactorInput, n: number): number {
  const { content, confidence, sides: sidesWanted, method } = given;
  const degreesOfFreedom = given.degreesOfFreedom ?? n - 1;
  const design = { n, content, confidence, degreesOfFreedom };
  if (sidesWanted === 2) return twoSidedFactor(design, method);
  if (method !== 'exact')
    throw new CalculationError('method', `${method} is a two-sided method; use exact with sides 1`);
  return oneSidedFactor(design);
}

/** What was computed, for the answer. */
export function toleranceMethodText({ sides: sidesWanted, method }: FactorInput): string {
  if (sidesWanted === 1) return 'one-sided factor, exact: quantile of the noncentral t over √n';
  const texts: Record<ToleranceMethod, string> = {
    exact: 'two-sided factor, exact: the coverage integral solved for k',
    howe: 'two-sided factor, approximation of Howe',
    'howe-guenther': 'two-sided factor, approximation of Howe with the correction of Guenther',
  };
  return texts[method];
}

export const toleranceSource =
  'Owen (1963) and NIST/SEMATECH e-Handbook 7.2.6.3 (one-sided); Odeh and Owen, Tables for Normal Tolerance Limits (1980), ' +
  'and Wald and Wolfowitz (1946) (two-sided, exact); Howe, J. American Statistical Association 64 (1969)';

export const toleranceFormula = [
  'sides 1: k = t(confidence; df, δ) / √n, t the quantile of the noncentral t, δ = z(content) √n, df = n − 1',
  '  by hand: try values of t with P(T ≤ t) = ∫ Φ(t s − δ) f(s) ds, f the density of √(χ²/df), until P = confidence',
  'sides 2, exact: k with 2 ∫ φ(z) P(χ²(df) > df r(z)²/k²) dz over z from 0 to ∞ equal to confidence,',
  '  r(z) solving Φ(z/√n + r) − Φ(z/√n − r) = content; by hand: start from howe and try values of k',
  'sides 2, howe: k = z((1 + content)/2) √(df (1 + 1/n) / χ²(1 − confidence; df))',
  'sides 2, howe-guenther: the same times √(1 + (n − 3 − χ²)/(2 (n + 1)²)), with df + 1 for n in n − 3 if df is given',
].join('\n');
