import { CalculationError } from '../base/errors.js';
import { requireProbability, requireValues } from './guards.js';
import { requireSpread } from './inputs.js';
import { tQuantile } from './student-t.js';
import { moments } from './summary.js';

export interface OutlierTest {
  readonly alpha: number;
  /** 1: the side was chosen before the data were seen; 2: either side. */
  readonly sides: 1 | 2;
  /** Largest number of outliers looked for; 1 is Grubbs' test, more is the generalised ESD procedure. */
  readonly maximum?: number | undefined;
}

export interface Outliers {
  /** R_i = largest |x − mean| / s of what is left after i − 1 removals. */
  readonly statistics: readonly number[];
  readonly criticals: readonly number[];
  /** Places of the outliers in the values as given, counted from 1, in the order of removal. */
  readonly outlierIndexes: readonly number[];
}

/**
 * Critical value of Grubbs' statistic for n values: (n − 1) t / √(n (n − 2 + t²)), t the upper α/n point (one-sided) or
 * α/(2n) point (two-sided) of Student's t with n − 2 degrees of freedom. Source: Grubbs, Technometrics 11 (1969).
 * @throws CalculationError below three values, or for alpha outside (0, 1).
 */
export function grubbsCritical(n: number, alpha: number, sides: 1 | 2): number {
  requireProbability(alpha, 'alpha');
  if (!(Number.isInteger(n) && n >= 3)) throw new CalculationError('n', `found ${n}, needs 3 or more`);
  const t = -tQuantile(alpha / (sides * n), n - 2);
  return ((n - 1) * t) / Math.sqrt(n * (n - 2 + t * t));
}

/**
 * Grubbs' test, or the generalised ESD procedure when more than one outlier is looked for: the farthest value is taken
 * out, again and again, and the number of outliers is the largest i with R_i above its critical value, although earlier
 * ones may lie below theirs. Ties go to the value that comes first.
 * Source: Grubbs (1969); Rosner, Technometrics 25 (1983); NIST/SEMATECH e-Handbook 1.3.5.17.
 * @throws CalculationError when fewer than maximum + 2 values are given, or the values left do not differ.
 */
export function findOutliers(values: readonly number[], { alpha, sides, maximum = 1 }: OutlierTest): Outliers {
  if (!(Number.isInteger(maximum) && maximum >= 1)) throw new CalculationError('maximum', 'must be a whole number ≥ 1');
  requireValues(values, 3, 'values');
  if (maximum > values.length - 2) {
    throw new CalculationError('maximum', `must be at most ${values.length - 2}: two values have to be left`);
  }
  const left = values.map((value, index) => ({ value, index: index + 1 }));
  const statistics: number[] = [];
  const criticals: number[] = [];
  const removed: number[] = [];
  let found = 0;
  for (let i = 1; i <= maximum; i++) {
    const { place, statistic } = farthest(left.map(({ value }) => value));
    const critical = grubbsCritical(left.length, alpha, sides);
    statistics.push(statistic);
    criticals.push(critical);
    removed.push(left[place]!.index);
    left.splice(place, 1);
    if (statistic > critical) found = i;
  }
  return { statistics, criticals, outlierIndexes: removed.slice(0, found) };
}

/**
 * Tietjen–Moore statistic for k outliers on either side: sum of squares without the k values farthest from the mean
 * over the sum of squares of all. Small values speak for outliers; critical values come from simulation.
 * Source: Tietjen and Moore, Technometrics 14 (1972); NIST/SEMATECH e-Handbook 1.3.5.17.2.
 * @throws CalculationError when k is not between 1 and n − 2, or the values do not differ.
 */
export function tietjenMoore(values: readonly number[], k: number): number {
  requireValues(values, 3, 'values');
  if (!(Number.isInteger(k) && k >= 1 && k <= values.length - 2)) {
    throw new CalculationError('k', `found ${k}, expected a whole number from 1 to ${values.length - 2}`);
  }
  const { mean, sumSquares } = moments(values);
  requireSpread(sumSquares, 'values');
  const byDistance = [...values].sort((a, b) => Math.abs(a - mean) - Math.abs(b - mean));
  return moments(byDistance.slice(0, values.length - k)).sumSquares / sumSquares;
}

function farthest(values: readonly number[]): { place: number; statistic: number } {
  const { mean, sd } = moments(values);
  requireSpread(sd, 'values');
  let place = 0;
  let distance = 0;
  values.forEach((value, index) => {
    if (Math.abs(value - mean) > distance) {
      distance = Math.abs(value - mean);
      place = index;
    }
  });
  return { place, statistic: distance / sd };
}
