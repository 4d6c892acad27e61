import { CalculationError } from '../base/errors.js';

/** Value and slope of a function at a point. */
export interface Slope {
  readonly value: number;
  readonly slope: number;
}

const MOST_STEPS = 100;

/**
 * The root of a rising function, by Newton's method kept inside a bracket that is first widened from
 * `start ± scale` until it holds the root.
 * @throws CalculationError when no root is found, so that a wrong number never leaves.
 */
export function solveMonotone(f: (x: number) => Slope, start: number, scale: number): number {
  let x = start;
  let low = Number.NEGATIVE_INFINITY;
  let high = Number.POSITIVE_INFINITY;
  let reach = scale;
  for (let step = 0; step < MOST_STEPS; step++) {
    const { value, slope } = f(x);
    if (value === 0) return x;
    if (value < 0) low = x;
    else high = x;
    const bracketed = Number.isFinite(low) && Number.isFinite(high);
    let next = slope > 0 ? x - value / slope : Number.NaN;
    // A step over the bracket, or too far for an unbracketed search, is replaced by bisection or by a wider step.
    if (!bracketed && !(Math.abs(next - x) <= 4 * reach)) {
      next = value < 0 ? x + reach : x - reach;
      reach *= 2;
    }
    if (bracketed && !(next > low && next < high)) next = (low + high) / 2;
    if (Math.abs(next - x) <= 1e-14 * Math.max(Math.abs(next), scale)) return next;
    x = next;
  }
  throw new CalculationError('input', 'the equation has no solution that can be found in double precision');
}
