import { CalculationError } from '../base/errors.js';
import { binomialCdf } from './distributions.js';
import { hypergeometricCdf } from './hypergeometric.js';

export interface SampleSizeDesign {
  /** Share of the population, or of the lot, that is to conform. */
  readonly content: number;
  readonly confidence: number;
  /** Nonconforming items that may be found. */
  readonly failuresAllowed: number;
}

/** Beyond this nobody samples. */
const LARGEST_N = 1_000_000_000;

/**
 * The smallest n with P(found ≤ failuresAllowed) ≤ 1 − confidence when each item is nonconforming with probability
 * 1 − content (binomial). With none allowed: the smallest n with content^n ≤ 1 − confidence.
 * Source: success-run formula (common practice); Wilks, Annals of Mathematical Statistics 12 (1941).
 * @throws CalculationError with field `content` when more than 1e9 items would be needed.
 */
export function sampleSize({ content, confidence, failuresAllowed }: SampleSizeDesign): number {
  const risk = withRoundingRoom(1 - confidence);
  const passes = (n: number) => binomialCdf(failuresAllowed, n, 1 - content) <= risk;
  let high = Math.max(2 * (failuresAllowed + 1), 2);
  while (!passes(high)) {
    if (high >= LARGEST_N) throw new CalculationError('content', `needs more than ${LARGEST_N} items`);
    high *= 2;
  }
  return smallest(failuresAllowed + 1, high, passes);
}

/**
 * The smallest n from a lot of `lotSize` with P(found ≤ failuresAllowed) ≤ 1 − confidence if just too many of its items
 * were nonconforming: D = ceil(lotSize (1 − content)) of them (hypergeometric).
 * @throws CalculationError with field `failuresAllowed` when even the whole lot cannot show it.
 */
export function sampleSizeFromLot(design: SampleSizeDesign, lotSize: number): number {
  const { content, confidence, failuresAllowed } = design;
  const nonconforming = nonconformingItems(content, lotSize);
  if (failuresAllowed >= nonconforming) {
    const reason = `must be less than the ${nonconforming} nonconforming items that the sample is to reveal`;
    throw new CalculationError('failuresAllowed', reason);
  }
  const risk = withRoundingRoom(1 - confidence);
  return smallest(
    failuresAllowed + 1,
    lotSize,
    (n) => hypergeometricCdf(failuresAllowed, { lotSize, nonconforming, n }) <= risk,
  );
}

/** ceil(lotSize (1 − content)), without a rounding error lifting a whole number to the next one. */
export function nonconformingItems(content: number, lotSize: number): number {
  return Math.ceil(lotSize * (1 - content) * (1 - 1e-12) - 1e-12);
}

/** Equality counts as reached (20 items, one nonconforming, n = 19 at 95 %): rounding must not decide it. */
function withRoundingRoom(risk: number): number {
  return risk * (1 + 1e-10);
}

function smallest(from: number, to: number, passes: (n: number) => boolean): number {
  let low = from;
  let high = to;
  while (low < high) {
    const middle = Math.floor((low + high) / 2);
    if (passes(middle)) high = middle;
    else low = middle + 1;
  }
  return low;
}
