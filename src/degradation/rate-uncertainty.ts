import { requireNonNegative, requirePositive } from '../statistics/guards.js';
import { type MassLoss, massLossRates } from './corrosion-rate.js';

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
}

/**
 * Standard uncertainty of a rate from mass loss, first order and without correlation: the root of the summed squares
 * of sensitivity × standard uncertainty. The rate is K W/(A T D), so its sensitivity is K/(A T D) to the mass and
 * −rate/x to area, time and density. Source: JCGM 100:2008 (GUM) 5.1.2.
 * @throws CalculationError for what `massLossRates` refuses, and for a negative uncertainty.
 */
export function rateUncertainty(input: MassLoss & MassLossUncertainty): RateUncertainty {
  const { mmPerYear } = massLossRates(input);
  const perGram = massLossRates({ ...input, massLossG: 1 }).mmPerYear;
  return {
    mmPerYear,
    ...budgetOf([
      line(input, 'massLossG', 'massLossUncertaintyG', perGram),
      line(input, 'areaCm2', 'areaUncertaintyCm2', -mmPerYear / input.areaCm2),
      line(input, 'timeH', 'timeUncertaintyH', -mmPerYear / input.timeH),
      line(input, 'densityGPerCm3', 'densityUncertaintyGPerCm3', -mmPerYear / input.densityGPerCm3),
    ]),
  };
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
