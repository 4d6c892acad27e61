import { CalculationError } from '../base/errors.js';

/** Count, mean, spread and range of a sample. */
export interface Moments {
  readonly n: number;
  readonly mean: number;
  /** Σ(x − mean)². */
  readonly sumSquares: number;
  /** With divisor n − 1; 0 for a single value. */
  readonly sd: number;
  readonly min: number;
  readonly max: number;
}

const BLOCK = 64;

/**
 * Count, mean, standard deviation (divisor n − 1), minimum and maximum of finite values, in two passes.
 * Sums run in four lanes over short blocks and the block sums are added with compensation, which is as fast as a bare
 * loop and keeps rounding errors from growing with n; the second pass corrects for the rounding of the mean.
 * Source: Chan, Golub and LeVeque, The American Statistician 37 (1983), corrected two-pass algorithm; Neumaier (1974)
 * for the compensation (both from memory).
 * @throws CalculationError with field `values` when there are none, or one of them is not finite.
 */
export function moments(values: ArrayLike<number>): Moments {
  const n = values.length;
  if (n === 0) throw new CalculationError('values', 'needs at least 1 value');
  const { sum, min, max } = firstPass(values);
  const roughMean = sum / n;
  const { deviations, squares } = secondPass(values, roughMean);
  const sumSquares = Math.max(0, squares - (deviations * deviations) / n);
  // A value that is not finite makes its sum so, and the check costs nothing per value.
  if (!Number.isFinite(sumSquares)) throw new CalculationError('values', 'one of them is not a finite number');
  return {
    n,
    mean: roughMean + deviations / n,
    sumSquares,
    sd: n > 1 ? Math.sqrt(sumSquares / (n - 1)) : 0,
    min,
    max,
  };
}

/** The middle value, or the mean of the two middle ones. */
export function median(values: readonly number[]): number {
  const sorted = Float64Array.from(values).sort();
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}

/**
 * Lag-1 autocorrelation Σ(x_t − m)(x_{t+1} − m) / Σ(x_t − m)², one mean for all, n − 1 products over n squares.
 * Values in time order.
 * Source: NIST Statistical Reference Datasets, univariate summary statistics.
 * @throws CalculationError when the values do not differ.
 */
export function lagOneAutocorrelation(values: readonly number[]): number {
  const { mean, sumSquares } = moments(values);
  if (sumSquares === 0) throw new CalculationError('values', 'the values do not differ: the spread is zero');
  const products = new CompensatedSum();
  for (let i = 1; i < values.length; i++) products.add((values[i - 1]! - mean) * (values[i]! - mean));
  return products.total / sumSquares;
}

/** A sum that carries what rounding takes away (Neumaier). */
export class CompensatedSum {
  private sum = 0;
  private lost = 0;

  add(term: number): void {
    const next = this.sum + term;
    this.lost += Math.abs(this.sum) >= Math.abs(term) ? this.sum - next + term : term - next + this.sum;
    this.sum = next;
  }

  get total(): number {
    return this.sum + this.lost;
  }
}

function firstPass(values: ArrayLike<number>): { sum: number; min: number; max: number } {
  const total = new CompensatedSum();
  let min = values[0]!;
  let max = min;
  for (let start = 0; start < values.length; start += BLOCK) {
    const end = Math.min(start + BLOCK, values.length);
    let a = 0;
    let b = 0;
    let c = 0;
    let d = 0;
    let i = start;
    for (; i + 3 < end; i += 4) {
      const w = values[i]!;
      const x = values[i + 1]!;
      const y = values[i + 2]!;
      const z = values[i + 3]!;
      a += w;
      b += x;
      c += y;
      d += z;
      const low = Math.min(Math.min(w, x), Math.min(y, z));
      const high = Math.max(Math.max(w, x), Math.max(y, z));
      if (low < min) min = low;
      if (high > max) max = high;
    }
    for (; i < end; i++) {
      const w = values[i]!;
      a += w;
      if (w < min) min = w;
      if (w > max) max = w;
    }
    total.add(a + b + (c + d));
  }
  return { sum: total.total, min, max };
}

function secondPass(values: ArrayLike<number>, mean: number): { deviations: number; squares: number } {
  const deviations = new CompensatedSum();
  const squares = new CompensatedSum();
  for (let start = 0; start < values.length; start += BLOCK) {
    const end = Math.min(start + BLOCK, values.length);
    let first = 0;
    let second = 0;
    let firstSquares = 0;
    let secondSquares = 0;
    let i = start;
    for (; i + 1 < end; i += 2) {
      const x = values[i]! - mean;
      const y = values[i + 1]! - mean;
      first += x;
      second += y;
      firstSquares += x * x;
      secondSquares += y * y;
    }
    if (i < end) {
      const x = values[i]! - mean;
      first += x;
      firstSquares += x * x;
    }
    deviations.add(first + second);
    squares.add(firstSquares + secondSquares);
  }
  return { deviations: deviations.total, squares: squares.total };
}
