import { binomialCdf } from './distributions.js';
import { hypergeometricCdf } from './hypergeometric.js';
import { gammaUpper } from './incomplete-gamma.js';

/** How the number found in a sample is distributed. */
export type SamplingModel = 'binomial' | 'hypergeometric' | 'poisson';

/**
 * Probability that a lot with the given fraction nonconforming passes a plan "n items, at most `accept` nonconforming".
 * Binomial: the lot is a stream; hypergeometric: drawn from a lot of `lotSize` with the nearest whole number of
 * nonconforming items; Poisson: mean n × fraction, also for nonconformities per item.
 * Source: definitions; Montgomery, chapter on lot-by-lot acceptance sampling.
 */
export function acceptanceProbability(
  plan: { readonly n: number; readonly accept: number; readonly lotSize?: number | undefined },
  fraction: number,
  model: SamplingModel,
): number {
  const { n, accept, lotSize } = plan;
  if (accept >= n && model !== 'poisson') return 1;
  if (model === 'poisson') return gammaUpper(n * fraction, accept + 1);
  if (model === 'binomial') return binomialCdf(accept, n, fraction);
  return hypergeometricCdf(accept, { lotSize: lotSize!, nonconforming: nonconformingIn(lotSize!, fraction), n });
}

/** The nearest whole number of nonconforming items in a lot. */
export function nonconformingIn(lotSize: number, fraction: number): number {
  return Math.round(lotSize * fraction);
}

/** Average outgoing quality when rejected lots are sorted: P(accept) × fraction × (N − n)/N. */
export function averageOutgoingQuality(fraction: number, accepted: number, n: number, lotSize: number): number {
  return (accepted * fraction * (lotSize - n)) / lotSize;
}

/** Average number of items inspected per lot when rejected lots are sorted: n + (1 − P(accept)) (N − n). */
export function averageTotalInspection(accepted: number, n: number, lotSize: number): number {
  return n + (1 - accepted) * (lotSize - n);
}
