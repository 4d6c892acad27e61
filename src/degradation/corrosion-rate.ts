import { CalculationError } from '../base/errors.js';
import { requireFinite, requireNonNegative, requirePositive } from '../statistics/guards.js';
import {
  DAYS_PER_YEAR,
  FARADAY_C_PER_MOL,
  GAS_CONSTANT_J_PER_MOL_K,
  HOURS_PER_YEAR,
  MIL_IN_MM,
  STANDARD_PRESSURE_KPA,
  ZERO_CELSIUS_K,
} from './physical-constants.js';
import { waterVapourPressureKpa } from './water-vapour.js';

export interface MassLoss {
  readonly massLossG: number;
  readonly areaCm2: number;
  readonly timeH: number;
  readonly densityGPerCm3: number;
}

export interface MassLossRates {
  readonly mmPerYear: number;
  readonly umPerYear: number;
  readonly milPerYear: number;
  readonly gPerM2Hour: number;
  readonly gPerM2Day: number;
  readonly mgPerCm2Day: number;
}

/**
 * Rate of uniform loss from a mass loss, in the usual units: 8.76e4 W / (A T D) mm/y with W g, A cm², T h, D g/cm³.
 * The year has 8760 h; the mil is the exact inch / 1000. Source: ASTM G1 (and G31).
 * @throws CalculationError for a negative mass loss, or area, time or density not above zero.
 */
export function massLossRates({ massLossG, areaCm2, timeH, densityGPerCm3 }: MassLoss): MassLossRates {
  requireNonNegative(massLossG, 'massLossG');
  requirePositive(areaCm2, 'areaCm2');
  requirePositive(timeH, 'timeH');
  requirePositive(densityGPerCm3, 'densityGPerCm3');
  const gPerCm2Hour = massLossG / (areaCm2 * timeH);
  const mmPerYear = (10 * HOURS_PER_YEAR * massLossG) / (areaCm2 * timeH * densityGPerCm3);
  return {
    mmPerYear,
    umPerYear: 1000 * mmPerYear,
    milPerYear: mmPerYear / MIL_IN_MM,
    gPerM2Hour: 1e4 * gPerCm2Hour,
    gPerM2Day: 24e4 * gPerCm2Hour,
    mgPerCm2Day: 24e3 * gPerCm2Hour,
  };
}

export interface HydrogenGas {
  /** Gas volume as read, blank subtracted. */
  readonly volumeMl: number;
  readonly gasTemperatureC: number;
  /** Absolute pressure of the gas as read. */
  readonly pressureKpa: number;
  /** True when the gas was collected over water or medium and is saturated with its vapour. */
  readonly wet: boolean;
  /** Partial pressure of the water vapour; for wet gas without it, saturation at the gas temperature is taken. */
  readonly waterVapourKpa?: number | undefined;
  readonly areaCm2: number;
  readonly timeH: number;
  readonly densityGPerCm3: number;
  readonly molarMassGPerMol: number;
}

export interface HydrogenRate {
  readonly waterVapourKpa: number;
  readonly molHydrogen: number;
  readonly dryVolumeMlStp: number;
  readonly massLossMg: number;
  readonly mmPerYear: number;
}

/**
 * Rate of loss from collected hydrogen: n = (p − p_w) V / (R T), one mole of a divalent metal for each mole of gas.
 * The dry volume is given at 0 °C and 101.325 kPa. Source: ideal gas law; M + 2 H2O = M(OH)2 + H2.
 * @throws CalculationError for dry gas with a water vapour pressure, or vapour that makes up the whole pressure.
 */
export function hydrogenRate(gas: HydrogenGas): HydrogenRate {
  requireNonNegative(gas.volumeMl, 'volumeMl');
  requirePositive(gas.pressureKpa, 'pressureKpa');
  requirePositive(gas.molarMassGPerMol, 'molarMassGPerMol');
  requireFinite(gas.gasTemperatureC, 'gasTemperatureC');
  const temperatureK = gas.gasTemperatureC + ZERO_CELSIUS_K;
  if (temperatureK <= 0) throw new CalculationError('gasTemperatureC', 'lies below absolute zero');
  const waterVapourKpa = vapourIn(gas);
  // kPa times mL is exactly 1e-3 J.
  const molHydrogen =
    ((gas.pressureKpa - waterVapourKpa) * gas.volumeMl * 1e-3) / (GAS_CONSTANT_J_PER_MOL_K * temperatureK);
  const dryVolumeMlStp = (molHydrogen * GAS_CONSTANT_J_PER_MOL_K * ZERO_CELSIUS_K) / (STANDARD_PRESSURE_KPA * 1e-3);
  const massLossG = molHydrogen * gas.molarMassGPerMol;
  const { mmPerYear } = massLossRates({ ...gas, massLossG });
  return { waterVapourKpa, molHydrogen, dryVolumeMlStp, massLossMg: 1000 * massLossG, mmPerYear };
}

function vapourIn({ wet, waterVapourKpa, gasTemperatureC, pressureKpa }: HydrogenGas): number {
  if (!wet && waterVapourKpa !== undefined && waterVapourKpa !== 0) {
    throw new CalculationError('waterVapourKpa', 'is given, but the gas is said to be dry: leave it out, or say wet');
  }
  if (!wet) return 0;
  const vapour = waterVapourKpa ?? waterVapourPressureKpa(gasTemperatureC, 'gasTemperatureC');
  requireNonNegative(vapour, 'waterVapourKpa');
  if (vapour >= pressureKpa) {
    throw new CalculationError(
      waterVapourKpa === undefined ? 'pressureKpa' : 'waterVapourKpa',
      `the water vapour alone has ${vapour} kPa, as much as the whole gas with ${pressureKpa} kPa`,
    );
  }
  return vapour;
}

export interface CorrosionCurrent {
  readonly currentUaPerCm2: number;
  /** Molar mass over valence, in g/mol of electrons. */
  readonly equivalentWeight: number;
  readonly densityGPerCm3: number;
}

export interface CurrentRate {
  readonly mmPerYear: number;
  readonly mgPerCm2Day: number;
}

/**
 * Rate of loss from a corrosion current density by Faraday's law: K i EW / D mm/y with K = 315.36 / F = 3.26848e-3
 * mm g/(µA cm y) for a year of 365 days. Source: ASTM G102 (which prints K = 3.27e-3).
 * @throws CalculationError for a negative current, or weight or density not above zero.
 */
export function currentRate({ currentUaPerCm2, equivalentWeight, densityGPerCm3 }: CorrosionCurrent): CurrentRate {
  requireNonNegative(currentUaPerCm2, 'currentUaPerCm2');
  requirePositive(equivalentWeight, 'equivalentWeight');
  requirePositive(densityGPerCm3, 'densityGPerCm3');
  const mgPerCm2Second = (currentUaPerCm2 * 1e-3 * equivalentWeight) / FARADAY_C_PER_MOL;
  const mgPerCm2Day = 86400 * mgPerCm2Second;
  return { mmPerYear: (mgPerCm2Day * 1e-2 * DAYS_PER_YEAR) / densityGPerCm3, mgPerCm2Day };
}

export interface AlloyElement {
  readonly massFraction: number;
  readonly molarMassGPerMol: number;
  readonly valence: number;
}

/** Mass fractions from a certificate are rounded; their sum may pass 1 by this much. */
const FRACTION_SUM_EXCESS = 0.005;

/**
 * Equivalent weight of an alloy, 1 / Σ (f n / M), in g/mol of electrons. Fractions are taken as they are, not scaled
 * to a sum of 1. Source: ASTM G102.
 * @throws CalculationError for an empty list, a fraction outside 0..1, fractions that sum to more than 1.005, or none
 *   above zero.
 */
export function equivalentWeight(elements: readonly AlloyElement[]): number {
  if (elements.length === 0) throw new CalculationError('elements', 'needs at least one element');
  elements.forEach((element, index) => {
    const field = `elements.${index}`;
    requireNonNegative(element.massFraction, `${field}.massFraction`);
    if (element.massFraction > 1) throw new CalculationError(`${field}.massFraction`, 'must lie between 0 and 1');
    requirePositive(element.molarMassGPerMol, `${field}.molarMassGPerMol`);
    requirePositive(element.valence, `${field}.valence`);
  });
  const sum = massFractionSum(elements);
  if (sum > 1 + FRACTION_SUM_EXCESS) {
    throw new CalculationError('elements', `the mass fractions sum to ${sum}, which is more than 1`);
  }
  const equivalents = elements.reduce(
    (total, { massFraction, valence, molarMassGPerMol }) => total + (massFraction * valence) / molarMassGPerMol,
    0,
  );
  if (!(equivalents > 0)) throw new CalculationError('elements', 'no element has a mass fraction above 0');
  return 1 / equivalents;
}

export function massFractionSum(elements: readonly AlloyElement[]): number {
  return elements.reduce((total, { massFraction }) => total + massFraction, 0);
}
