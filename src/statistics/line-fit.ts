import { CalculationError } from '../base/errors.js';
import { requireFinite, requireProbability, requireValues } from './guards.js';
import { tQuantile, tTwoSided } from './student-t.js';
import { CompensatedSum, moments } from './summary.js';

export interface Interval {
  readonly lower: number;
  readonly upper: number;
}

export interface Prediction {
  readonly x: number;
  readonly fit: number;
  /** Confidence limits of the mean at x. */
  readonly confidenceLower: number;
  readonly confidenceUpper: number;
  /** Prediction limits of one further value at x. */
  readonly predictionLower: number;
  readonly predictionUpper: number;
}

export interface LineFit {
  readonly slope: number;
  readonly intercept: number;
  readonly standardErrors: { readonly slope: number; readonly intercept: number };
  readonly residualSd: number;
  /** Absent when the y do not differ. */
  readonly rSquared?: number;
  readonly intervals: { readonly slope: Interval; readonly intercept: Interval };
  /** slope / its standard error, and its two-sided p; absent when the points lie on the line. */
  readonly slopeT?: number;
  readonly slopeP?: number;
  readonly predictions?: readonly Prediction[];
}

/**
 * Least-squares line y = intercept + slope x with normal errors of one spread, n − 2 degrees of freedom.
 * Source: NIST/SEMATECH e-Handbook 4.1.4.1 and 4.5; Draper and Smith, Applied Regression Analysis, chapter 1.
 * @throws CalculationError below three points, for lists of different length, x that do not differ, or a confidence
 *   outside (0, 1).
 */
export function lineFit(
  x: readonly number[],
  y: readonly number[],
  confidence = 0.95,
  predictAt?: readonly number[],
): LineFit {
  requirePoints(x, y);
  requireProbability(confidence, 'confidence');
  predictAt?.forEach((place, index) => {
    requireFinite(place, `predictAt.${index}`);
  });
  const n = x.length;
  const ofX = moments(x);
  const ofY = moments(y);
  if (!(ofX.sumSquares > 0)) throw new CalculationError('x', 'the x do not differ: there is no line');
  const products = new CompensatedSum();
  x.forEach((value, index) => {
    products.add((value - ofX.mean) * (y[index]! - ofY.mean));
  });
  const slope = products.total / ofX.sumSquares;
  const intercept = ofY.mean - slope * ofX.mean;
  const squares = new CompensatedSum();
  x.forEach((value, index) => {
    squares.add((y[index]! - ofY.mean - slope * (value - ofX.mean)) ** 2);
  });
  const residualSd = Math.sqrt(squares.total / (n - 2));
  const standardErrors = {
    slope: residualSd / Math.sqrt(ofX.sumSquares),
    intercept: residualSd * Math.sqrt(1 / n + ofX.mean ** 2 / ofX.sumSquares),
  };
  const t = tQuantile((1 + confidence) / 2, n - 2);
  const slopeT = slope / standardErrors.slope;
  const predict = (at: number): Prediction => {
    const fit = ofY.mean + slope * (at - ofX.mean);
    const share = 1 / n + (at - ofX.mean) ** 2 / ofX.sumSquares;
    const confidenceHalf = t * residualSd * Math.sqrt(share);
    const predictionHalf = t * residualSd * Math.sqrt(1 + share);
    return {
      x: at,
      fit,
      confidenceLower: fit - confidenceHalf,
      confidenceUpper: fit + confidenceHalf,
      predictionLower: fit - predictionHalf,
      predictionUpper: fit + predictionHalf,
    };
  };
  return {
    slope,
    intercept,
    standardErrors,
    residualSd,
    ...(ofY.sumSquares > 0 && { rSquared: 1 - squares.total / ofY.sumSquares }),
    intervals: {
      slope: around(slope, t * standardErrors.slope),
      intercept: around(intercept, t * standardErrors.intercept),
    },
    ...(Number.isFinite(slopeT) && { slopeT, slopeP: tTwoSided(slopeT, n - 2) }),
    ...(predictAt && { predictions: predictAt.map(predict) }),
  };
}

function around(centre: number, half: number): Interval {
  return { lower: centre - half, upper: centre + half };
}

function requirePoints(x: readonly number[], y: readonly number[]): void {
  requireValues(x, 3, 'x');
  requireValues(y, 3, 'y');
  if (x.length !== y.length) throw new CalculationError('y', `found ${y.length} values, expected ${x.length} as in x`);
}
