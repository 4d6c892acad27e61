import { CalculationError } from '../base/errors.js';
import { requirePositive, requireValues } from '../statistics/guards.js';

/**
 * How unevenly a surface was attacked: deepest over mean depth, 1 for uniform loss.
 * Both in the same unit; the mean is that of the whole surface (from mass or volume loss), not of the pits.
 * Source: ASTM G46, pitting factor.
 * @throws CalculationError when a depth is not above zero or the deepest is less than the mean.
 */
export function localisationFactor(deepestUm: number, meanUm: number): number {
  requirePositive(deepestUm, 'deepestUm');
  requirePositive(meanUm, 'meanUm');
  if (deepestUm < meanUm) {
    throw new CalculationError('deepestUm', `found ${deepestUm}, which is less than the mean depth ${meanUm}`);
  }
  return deepestUm / meanUm;
}

/**
 * The same from depths measured over an even grid of the whole surface, places without attack given as 0.
 * @throws CalculationError for an empty list, a negative depth, or no attack at all.
 */
export function localisationFactorOfDepths(depthsUm: readonly number[]): number {
  requireValues(depthsUm, 1, 'depthsUm');
  depthsUm.forEach((depth, index) => {
    if (depth < 0) throw new CalculationError(`depthsUm.${index}`, `found ${depth}, a depth cannot be negative`);
  });
  const deepest = depthsUm.reduce((largest, depth) => Math.max(largest, depth), 0);
  if (deepest === 0) throw new CalculationError('depthsUm', 'there is no attack: every depth is 0');
  const mean = depthsUm.reduce((sum, depth) => sum + depth, 0) / depthsUm.length;
  // The mean of equal depths can round to just above them.
  return Math.max(1, deepest / mean);
}
