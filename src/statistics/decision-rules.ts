import { CalculationError } from '../base/errors.js';
import { normalCdf, normalDensity, normalQuantile } from './distributions.js';
import { integrate } from './gauss-legendre.js';
import { requireFinite, requireNonNegative, requirePositive, requireProbability } from './guards.js';
import { type Limits, requireLimit } from './inputs.js';

export type Verdict = 'conforms' | 'does not conform' | 'cannot be decided';

export interface DecisionInput extends Limits {
  readonly value: number;
  readonly standardUncertainty: number;
  /** simple: the limits themselves decide; guarded: conformity and nonconformity each have to be proved. */
  readonly rule: 'simple' | 'guarded';
  /** One-sided confidence of the proof. */
  readonly confidence?: number | undefined;
}

export interface Decision {
  readonly verdict: Verdict;
  readonly acceptanceLower?: number;
  readonly acceptanceUpper?: number;
  /** Probability that the true value lies within the limits. */
  readonly conformanceProbability: number;
}

/**
 * Verdict on one measured value. Guarded: the acceptance limits lie the guard band w = z u inside the tolerance, z the
 * one-sided normal quantile; within them the value conforms, more than w outside the tolerance it does not, and between
 * nothing can be decided. A value on a limit is inside it.
 * Source: JCGM 106:2012 clauses 7 and 8; ISO 14253-1:2017.
 * @throws CalculationError without a limit, with limits the wrong way round, a negative uncertainty, or a confidence
 *   outside (0.5, 1) when guarded.
 */
export function decide(input: DecisionInput): Decision {
  const { value, standardUncertainty, lower, upper, rule, confidence = 0.95 } = input;
  requireFinite(value, 'value');
  requireNonNegative(standardUncertainty, 'standardUncertainty');
  requireFiniteLimits(input);
  const guard = rule === 'simple' ? 0 : guardBand(standardUncertainty, confidence);
  const isWithin = (widening: number) =>
    (lower === undefined || value >= lower - widening) && (upper === undefined || value <= upper + widening);
  return {
    verdict: isWithin(-guard) ? 'conforms' : isWithin(guard) && guard > 0 ? 'cannot be decided' : 'does not conform',
    ...(lower !== undefined && { acceptanceLower: lower + guard }),
    ...(upper !== undefined && { acceptanceUpper: upper - guard }),
    conformanceProbability: conformanceProbability(input),
  };
}

/**
 * Guard band w = z u with the one-sided normal quantile z of the confidence.
 * @throws CalculationError for a negative uncertainty or a confidence outside (0.5, 1).
 */
export function guardBand(standardUncertainty: number, confidence: number): number {
  requireNonNegative(standardUncertainty, 'standardUncertainty');
  requireProbability(confidence, 'confidence');
  if (confidence <= 0.5) {
    throw new CalculationError('confidence', `found ${confidence}, a guard band needs more than 0.5`);
  }
  return normalQuantile(confidence) * standardUncertainty;
}

/**
 * Probability that the true value lies within the limits, the measured value being normal about it with the standard
 * uncertainty and nothing else being known. Without uncertainty it is 0 or 1. Source: JCGM 106:2012 clause 7.
 * @throws CalculationError as `decide` does.
 */
export function conformanceProbability(
  input: Limits & { readonly value: number; readonly standardUncertainty: number },
): number {
  const { value, standardUncertainty: u, lower = Number.NEGATIVE_INFINITY, upper = Number.POSITIVE_INFINITY } = input;
  requireFinite(value, 'value');
  requireNonNegative(u, 'standardUncertainty');
  requireFiniteLimits(input);
  if (u === 0) return value >= lower && value <= upper ? 1 : 0;
  return normalBetween((lower - value) / u, (upper - value) / u);
}

export interface RiskInput extends Limits {
  readonly processMean: number;
  readonly processSd: number;
  readonly standardUncertainty: number;
  /** Acceptance limits; where one is left out, the tolerance limit of that side decides. */
  readonly acceptanceLower?: number | undefined;
  readonly acceptanceUpper?: number | undefined;
}

export interface GlobalRisks {
  /** P(accepted and nonconforming). */
  readonly consumerRisk: number;
  /** P(rejected and conforming). */
  readonly producerRisk: number;
}

/**
 * Global risks of a decision rule for a normal process measured with a normal error: the process density times the
 * probability of acceptance, integrated outside the tolerance, and times that of rejection inside it.
 * Source: JCGM 106:2012 clause 9.5. Gauss–Legendre over pieces that follow both distributions.
 * @throws CalculationError without a limit, with limits the wrong way round, a spread or uncertainty not above zero, or
 *   an acceptance limit on a side without a tolerance limit.
 */
export function globalRisks(input: RiskInput): GlobalRisks {
  requireFinite(input.processMean, 'processMean');
  requirePositive(input.processSd, 'processSd');
  requirePositive(input.standardUncertainty, 'standardUncertainty');
  requireFiniteLimits(input);
  const acceptance = acceptanceLimits(input);
  const { processMean, processSd, standardUncertainty: u } = input;
  const lower = input.lower ?? Number.NEGATIVE_INFINITY;
  const upper = input.upper ?? Number.POSITIVE_INFINITY;
  const breaks = breakPoints(input, acceptance);
  const density = (truth: number) => normalDensity((truth - processMean) / processSd) / processSd;
  const accepted = (truth: number) => normalBetween((acceptance.lower - truth) / u, (acceptance.upper - truth) / u);
  const rejected = (truth: number) =>
    normalCdf((acceptance.lower - truth) / u) + normalCdf((truth - acceptance.upper) / u);
  const consumerTerm = (truth: number) => density(truth) * accepted(truth);
  const producerTerm = (truth: number) => density(truth) * rejected(truth);
  return {
    consumerRisk:
      integratePieces(consumerTerm, breaks, Number.NEGATIVE_INFINITY, lower) +
      integratePieces(consumerTerm, breaks, upper, Number.POSITIVE_INFINITY),
    producerRisk: integratePieces(producerTerm, breaks, lower, upper),
  };
}

/** Φ(b) − Φ(a) for a ≤ b, from the tail that keeps its digits. */
function normalBetween(a: number, b: number): number {
  if (a > 0) return normalCdf(-a) - normalCdf(-b);
  if (b < 0) return normalCdf(b) - normalCdf(a);
  return 1 - normalCdf(a) - normalCdf(-b);
}

function acceptanceLimits(input: RiskInput): { lower: number; upper: number } {
  for (const [side, acceptance] of [
    ['lower', 'acceptanceLower'],
    ['upper', 'acceptanceUpper'],
  ] as const) {
    const limit = input[acceptance];
    if (limit === undefined) continue;
    requireFinite(limit, acceptance);
    if (input[side] === undefined) throw new CalculationError(acceptance, `is given, but there is no ${side} limit`);
  }
  const lower = input.acceptanceLower ?? input.lower ?? Number.NEGATIVE_INFINITY;
  const upper = input.acceptanceUpper ?? input.upper ?? Number.POSITIVE_INFINITY;
  if (!(lower < upper)) {
    throw new CalculationError('acceptanceLower', `found ${lower}, must be less than the upper one ${upper}`);
  }
  return { lower, upper };
}

/** Reach of a normal tail that counts, in standard deviations, and the orders of the pieces between. */
const REACH = 12;
const ORDER = 24;

/** Ascending points between which both the process and the chance of acceptance are smooth. */
function breakPoints(input: RiskInput, acceptance: { lower: number; upper: number }): readonly number[] {
  const points: number[] = [];
  const around = (centre: number, unit: number) => {
    if (!Number.isFinite(centre)) return;
    for (let k = -REACH; k <= REACH; k++) points.push(centre + k * unit);
  };
  around(input.processMean, input.processSd);
  for (const limit of [acceptance.lower, acceptance.upper]) around(limit, input.standardUncertainty);
  // A tolerance limit far out in the process: the little beyond it fades within a fraction of a standard deviation.
  for (const limit of [input.lower, input.upper]) {
    if (limit === undefined) continue;
    around(limit, input.processSd);
    around(limit, input.processSd / (1 + Math.abs(limit - input.processMean) / input.processSd));
  }
  return [...new Set(points)].sort((a, b) => a - b);
}

function integratePieces(f: (x: number) => number, breaks: readonly number[], from: number, to: number): number {
  const start = Math.max(from, breaks[0]!);
  const end = Math.min(to, breaks.at(-1)!);
  const inside = breaks.filter((point) => point > start && point < end);
  let sum = 0;
  let left = start;
  for (const right of [...inside, end]) {
    if (right > left) sum += integrate(f, left, right, ORDER);
    left = right;
  }
  return sum;
}

function requireFiniteLimits({ lower, upper }: Limits): void {
  if (lower !== undefined) requireFinite(lower, 'lower');
  if (upper !== undefined) requireFinite(upper, 'upper');
  requireLimit({ lower, upper });
}
