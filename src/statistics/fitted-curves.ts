import type { FittedDistribution } from './fitted-distributions.js';
import type { CensoredValue } from './inputs.js';

/** The families that live above zero and may be moved by a threshold. */
export type PositiveName = 'lognormal' | 'weibull' | 'gamma';

/** What a fit knows of its distribution: enough for Anderson–Darling and for the search of a threshold. */
export interface FittedCurves {
  readonly distribution: FittedDistribution;
  readonly logLikelihood: number;
  /** ln P(X ≤ x). */
  readonly logBelow: (x: number) => number;
  /** ln P(X > x). */
  readonly logAbove: (x: number) => number;
  /** Slope in x of what a value adds to the log-likelihood. */
  readonly slope: (value: CensoredValue) => number;
}
