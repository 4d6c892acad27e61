import { gammaQuantile, normalQuantile } from './distributions.js';

/** A distribution with the parameters that `fit` estimates. A threshold is added to every quantile. */
export type FittedDistribution =
  | { readonly name: 'normal'; readonly parameters: { readonly mean: number; readonly sd: number } }
  | {
      readonly name: 'lognormal';
      readonly parameters: {
        readonly logMean: number;
        readonly logSd: number;
        readonly threshold?: number | undefined;
      };
    }
  | {
      readonly name: 'weibull';
      readonly parameters: { readonly shape: number; readonly scale: number; readonly threshold?: number | undefined };
    }
  | { readonly name: 'gumbel'; readonly parameters: { readonly location: number; readonly scale: number } }
  | {
      readonly name: 'gamma';
      readonly parameters: { readonly shape: number; readonly rate: number; readonly threshold?: number | undefined };
    };

/**
 * The value below which a share `p` of the distribution lies, 0 < p < 1.
 * Normal m + s z; lognormal t + exp(m + s z); Weibull t + b (−ln(1 − p))^(1/a); Gumbel of maxima l − b ln(−ln p);
 * gamma t + (quantile of shape a, rate 1) / rate.
 */
export function quantileOf(distribution: FittedDistribution, p: number): number {
  switch (distribution.name) {
    case 'normal': {
      const { mean, sd } = distribution.parameters;
      return mean + sd * normalQuantile(p);
    }
    case 'lognormal': {
      const { logMean, logSd, threshold = 0 } = distribution.parameters;
      return threshold + Math.exp(logMean + logSd * normalQuantile(p));
    }
    case 'weibull': {
      const { shape, scale, threshold = 0 } = distribution.parameters;
      return threshold + scale * (-Math.log1p(-p)) ** (1 / shape);
    }
    case 'gumbel': {
      const { location, scale } = distribution.parameters;
      return location - scale * Math.log(-Math.log(p));
    }
    case 'gamma': {
      const { shape, rate, threshold = 0 } = distribution.parameters;
      return threshold + gammaQuantile(p, shape) / rate;
    }
  }
}

/** Φ(−3) and Φ(3), the shares that the percentile method takes for 0.135 % and 99.865 %. */
export const CAPABILITY_SHARES = { low: 0.0013498980316300933, middle: 0.5, high: 0.9986501019683699 } as const;
