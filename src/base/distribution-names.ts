/** Distributions that values are fitted by, by the names used everywhere in the product. */
export const DISTRIBUTIONS = ['normal', 'lognormal', 'weibull', 'gumbel', 'gamma'] as const;
