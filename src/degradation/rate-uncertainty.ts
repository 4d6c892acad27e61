import { requireNonNegative, requirePositive } from '../statistics/guards.js';
import { type MassLoss, massLossRates } from './corrosion-rate.js';
import { HOURS_PER_YEAR } from './physical-constants.js';
import { type Simulation, simulatedUncertainty } from './simulation.js';

export interface MassLossUncertainty {
  readonly massLossUncertaintyG: number;
  readonly areaUncertaintyCm2: number;
  readonly timeUncertaintyH: number;
  readonly densityUncertaintyGPerCm3: number;
}

/** A quantity that a rate is computed from, with how well it is known. */
export interface KnownQuantity {
  readonly quantity: keyof MassLoss | 'volumeMm3' | 'volumeMl' | 'gasC' | 'kPa';
  readonly value: number;
  readonly standardUncertainty: number;
  /** Change of the rate in mm/y for one unit of the quantity. */
  readonly sensitivity: number;
}

export interface BudgetLine extends KnownQuantity {
  /** |sensitivity| × standard uncertainty. */
  readonly contributionMmPerYear: number;
  /** Share of the combined variance, 0..1; absent when every uncertainty is zero. */
  readonly share?: number;
}

export interface RateUncertainty {
  readonly mmPerYear: number;
  readonly standardUncertaintyMmPerYear: number;
  readonly budget: readonly BudgetLine[];
  /** There where first order is not enough: covers both ends of what was simulated, and is never less. Infinite without bound. */
  readonly simulatedMmPerYear?: number;
}

/**
 * To which part of themselves all divisors of a rate together may be known for first order to be enough. The ends of 1/(1 + r Z)
 * lie z² r ≈ 2.7 r standard uncertainties beyond those of first order at z = 1.645: 2.7 % with this, and less than the 5 % which
 * are the least tolerance of JCGM 101:2008, 8.1 for one digit.
 */
export const STRAIGHT_DIVISORS = 0.01;

/** Whether divisors are known so well that a quotient is as good as straight. */
export const areStraight = (divisors: readonly (readonly [value: number, standardUncertainty: number])[]): boolean =>
  Math.hypot(...divisors.map(([value, uncertainty]) => uncertainty / value)) <= STRAIGHT_DIVISORS;

/** A quotient of drawn quantities: without bound where a divisor was drawn that is none. */
export function quotient(dividend: number, ...divisors: readonly number[]): number {
  let rest = dividend;
  for (const one of divisors) {
    if (!(one > 0)) return Number.POSITIVE_INFINITY;
    rest /= one;
  }
  return rest;
}

/** Each end of what is simulated, one-sided, where nobody asks for another. */
export const SIMULATED_CONFIDENCE = 0.95;

/**
 * Standard uncertainty of a rate from mass loss, first order and without correlation: the root of the summed squares
 * of sensitivity × standard uncertainty. The rate is K W/(A T D), so its sensitivity is K/(A T D) to the mass and
 * −rate/x to area, time and density. Source: JCGM 100:2008 (GUM) 5.1.2. Where the divisors are not known to a hundredth, all four
 * are drawn from normal distributions besides (JCGM 101:2008, 7).
 * @throws CalculationError for what `massLossRates` refuses, and for a negative uncertainty.
 */
export function rateUncertainty(
  input: MassLoss & MassLossUncertainty,
  simulation?: Simulation,
  confidence?: number,
): RateUncertainty {
  const { mmPerYear } = massLossRates(input);
  const perGram = massLossRates({ ...input, massLossG: 1 }).mmPerYear;
  const known = [
    line(input, 'massLossG', 'massLossUncertaintyG', perGram),
    line(input, 'areaCm2', 'areaUncertaintyCm2', -mmPerYear / input.areaCm2),
    line(input, 'timeH', 'timeUncertaintyH', -mmPerYear / input.timeH),
    line(input, 'densityGPerCm3', 'densityUncertaintyGPerCm3', -mmPerYear / input.densityGPerCm3),
  ];
  return {
    mmPerYear,
    ...propagated(known, areStraight(known.slice(1).map(pairOf)), rateOfMass, simulation, confidence),
  };
}

const rateOfMass = ([lossG, areaCm2, timeH, densityGPerCm3]: readonly number[]): number =>
  quotient(10 * HOURS_PER_YEAR * lossG!, areaCm2!, timeH!, densityGPerCm3!);

const pairOf = ({ value, standardUncertainty }: KnownQuantity): readonly [number, number] => [
  value,
  standardUncertainty,
];

/**
 * First order; and where it is not enough, simulated besides, which counts where the draws show it to be more.
 * @param of the rate from the quantities, in their order.
 * @param confidence of each end that the simulated one covers.
 */
export function propagated(
  known: readonly KnownQuantity[],
  isEnough: boolean,
  of: (values: readonly number[]) => number,
  simulation: Simulation | undefined,
  confidence: number = SIMULATED_CONFIDENCE,
): Omit<RateUncertainty, 'mmPerYear'> {
  const first = budgetOf(known);
  if (isEnough || simulation === undefined) return first;
  const { standardUncertainty, atLeast } = simulatedUncertainty(known.map(pairOf), of, simulation, confidence);
  const least = first.standardUncertaintyMmPerYear;
  return { ...first, simulatedMmPerYear: atLeast > least ? standardUncertainty : least };
}

/** First order, without correlation: the root of the summed squares of sensitivity × standard uncertainty. */
export function budgetOf(known: readonly KnownQuantity[]): Omit<RateUncertainty, 'mmPerYear'> {
  const lines = known.map((one) => ({
    ...one,
    contributionMmPerYear: Math.abs(one.sensitivity) * one.standardUncertainty,
  }));
  const combined = Math.hypot(...lines.map(({ contributionMmPerYear }) => contributionMmPerYear));
  const budget = lines.map((each) =>
    combined > 0 ? { ...each, share: (each.contributionMmPerYear / combined) ** 2 } : each,
  );
  return { standardUncertaintyMmPerYear: combined, budget };
}

/** U = k u. @throws CalculationError when the coverage factor is not above zero. */
export function expandedUncertainty(standardUncertainty: number, coverageFactor: number): number {
  requirePositive(coverageFactor, 'coverageFactor');
  return coverageFactor * standardUncertainty;
}

function line(
  input: MassLoss & MassLossUncertainty,
  quantity: keyof MassLoss,
  uncertainty: keyof MassLossUncertainty,
  sensitivity: number,
): KnownQuantity {
  const standardUncertainty = input[uncertainty];
  requireNonNegative(standardUncertainty, uncertainty);
  return { quantity, value: input[quantity], standardUncertainty, sensitivity };
}
