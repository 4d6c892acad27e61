import type { Exposure } from '../kinds/degradation/exposure.js';
import { currentRate, type HydrogenGas, hydrogenRate, massLossRates } from './corrosion-rate.js';
import { DAYS_PER_YEAR, GAS_CONSTANT_J_PER_MOL_K, HOURS_PER_YEAR, ZERO_CELSIUS_K } from './physical-constants.js';
import {
  areStraight,
  type BudgetLine,
  type KnownQuantity,
  propagated,
  quotient,
  type RateUncertainty,
  rateUncertainty,
  SIMULATED_CONFIDENCE,
} from './rate-uncertainty.js';
import type { Simulation } from './simulation.js';
import { waterVapourPressureKpa } from './water-vapour.js';

/** By what a rate was found. */
export type RateBy = 'mass loss' | 'tomography' | 'hydrogen' | 'current';

export interface ExposureRate {
  readonly by: RateBy;
  readonly mmPerYear: number;
  /** Mean depth lost on the area that met the medium; absent for a current, which is none. */
  readonly depthUm?: number;
  /**
   * Standard uncertainty of the depth, where the exposure states that of what was lost: weighing, volume or reading of gas.
   * Infinite where what it is divided by may as well be none.
   */
  readonly depthUncertaintyUm?: number;
  /** Standard uncertainty of the rate; infinite as that of the depth. */
  readonly standardUncertaintyMmPerYear?: number;
  /** Where it comes from, by first order. */
  readonly budget?: readonly BudgetLine[];
  /** Set where first order is not enough, and the uncertainty covers what was simulated. */
  readonly isSimulated?: boolean;
}

const HOUR_MS = 3_600_000;

/** The unit in which rates are computed. */
export const RATE_UNIT = 'mm/a';

/** Digits of a rate: more than any balance gives, and fewer than those in which machines differ. */
const DIGITS = 6;

/** A rate as plain decimal text: small ones have no exponent. */
export function decimalRate(mmPerYear: number): string {
  const text = mmPerYear.toPrecision(DIGITS);
  return text.includes('e') ? mmPerYear.toFixed(12) : text;
}

/** Hours from beginning to end; undefined while it lasts. */
export const hoursOf = ({ from, to }: Pick<Exposure, 'from' | 'to'>): number | undefined =>
  to === undefined ? undefined : (Date.parse(to) - Date.parse(from)) / HOUR_MS;

/**
 * The mass that metal lost, in g: before, less after cleaning, less what cleaning takes of a specimen that was not exposed.
 * Undefined as long as it is not known.
 */
export function massLossG({ massG }: Pick<Exposure, 'massG'>): number | undefined {
  if (massG?.afterCleaning === undefined) return undefined;
  // Both are decimals of a balance: a difference in their last place is no matter of binary fractions.
  return Number((Number(massG.before) - Number(massG.afterCleaning) - Number(massG.blankLoss ?? 0)).toPrecision(12));
}

/** By which uncertainties are found where first order is not enough, and of which confidence each end has to be, one-sided. */
export interface SimulatedAt {
  readonly simulation: Simulation;
  readonly confidence: number;
}

/** Ways by which a rate may be found, that which counts first before the others: mass loss, tomography, hydrogen. */
const COUNTING = [byMass, byTomography, byHydrogen] as const;
type Way = (typeof COUNTING)[number];

/**
 * Every rate that an exposure tells, the one that counts first: mass loss, then tomography, then hydrogen. A current comes
 * last and never counts alone (ASTM G102; docs/formulas.md). None while it lasts.
 * @param simulation by which an uncertainty is found where first order is not enough; first order alone without one.
 * @throws CalculationError for what contradicts itself; documents that were taken in do not.
 */
export function ratesOf(exposure: Exposure, simulation?: Simulation): ExposureRate[] {
  if (exposure.to === undefined) return [];
  return [...COUNTING.flatMap((way) => foundBy(way, exposure, simulation) ?? []), ...byCurrent(exposure)];
}

/**
 * The rate that may be a result: never that of a current.
 * @param confidence of each end that an uncertainty by simulation covers.
 */
export function countingRate(
  exposure: Exposure,
  simulation?: Simulation,
  confidence?: number,
): ExposureRate | undefined {
  if (exposure.to === undefined) return undefined;
  for (const way of COUNTING) {
    const found = foundBy(way, exposure, simulation, confidence);
    if (found) return found;
  }
  return undefined;
}

/** What was simulated of an exposure, which never changes: a page asks for it several times. */
const simulated = new WeakMap<Simulation, WeakMap<Exposure, Map<string, ExposureRate | undefined>>>();

function foundBy(
  way: Way,
  exposure: Exposure,
  simulation: Simulation | undefined,
  confidence = SIMULATED_CONFIDENCE,
): ExposureRate | undefined {
  const timeH = hoursOf(exposure)!;
  if (simulation === undefined) return way(exposure, timeH, undefined);
  const exposures = simulated.get(simulation) ?? new WeakMap<Exposure, Map<string, ExposureRate | undefined>>();
  const known = exposures.get(exposure) ?? new Map<string, ExposureRate | undefined>();
  simulated.set(simulation, exposures.set(exposure, known));
  const key = `${way.name} ${confidence}`;
  if (!known.has(key)) known.set(key, way(exposure, timeH, { simulation, confidence }));
  return known.get(key);
}

const depthOf = (mmPerYear: number, timeH: number): number => (1000 * mmPerYear * timeH) / (24 * DAYS_PER_YEAR);

function byMass(exposure: Exposure, timeH: number, at: SimulatedAt | undefined): ExposureRate | undefined {
  const lossG = massLossG(exposure);
  const { areaCm2, densityGPerCm3, uncertainty, massG } = exposure;
  if (lossG === undefined || densityGPerCm3 === undefined) return undefined;
  const loss = { massLossG: lossG, areaCm2: Number(areaCm2), timeH, densityGPerCm3: Number(densityGPerCm3) };
  const { mmPerYear } = massLossRates(loss);
  if (uncertainty?.massG === undefined) return { by: 'mass loss', mmPerYear, depthUm: depthOf(mmPerYear, timeH) };
  // The loss is a difference of two weighings, and of two more where a blank was weighed.
  const weighings = massG?.blankLoss === undefined ? 2 : 4;
  const stated = {
    ...loss,
    massLossUncertaintyG: Number(uncertainty.massG) * Math.sqrt(weighings),
    areaUncertaintyCm2: Number(uncertainty.areaCm2 ?? 0),
    timeUncertaintyH: Number(uncertainty.timeH ?? 0),
    densityUncertaintyGPerCm3: Number(uncertainty.densityGPerCm3 ?? 0),
  };
  const known = rateUncertainty(stated, at?.simulation, at?.confidence);
  return withUncertainty('mass loss', mmPerYear, timeH, known);
}

/** Lost volume over the area that met the medium: mm³ over cm² is a hundredth of a millimetre. */
function byTomography(
  { volumeMm3, areaCm2, uncertainty }: Exposure,
  timeH: number,
  at: SimulatedAt | undefined,
): ExposureRate | undefined {
  if (volumeMm3 === undefined) return undefined;
  const lost = Number(volumeMm3.before) - Number(volumeMm3.after);
  const perMm3 = (10 * 24 * DAYS_PER_YEAR) / (1000 * timeH * Number(areaCm2));
  const mmPerYear = lost * perMm3;
  if (uncertainty?.volumeMm3 === undefined) {
    return { by: 'tomography', mmPerYear, depthUm: depthOf(mmPerYear, timeH) };
  }
  const divisors = dividing(mmPerYear, { areaCm2: Number(areaCm2), timeH }, uncertainty);
  const volume = {
    ...{ quantity: 'volumeMm3' as const, value: lost, sensitivity: perMm3 },
    standardUncertainty: Number(uncertainty.volumeMm3) * Math.SQRT2,
  };
  const of = ([lostMm3, area, time]: readonly number[]) => quotient((lostMm3! * HOURS_PER_YEAR) / 100, area!, time!);
  const known = propagated([volume, ...divisors], isStraight(divisors), of, at?.simulation, at?.confidence);
  return withUncertainty('tomography', mmPerYear, timeH, known);
}

function byHydrogen(
  { hydrogen, areaCm2, densityGPerCm3, uncertainty }: Exposure,
  timeH: number,
  at: SimulatedAt | undefined,
): ExposureRate | undefined {
  if (hydrogen === undefined || densityGPerCm3 === undefined) return undefined;
  const gas: HydrogenGas = {
    volumeMl: Number((Number(hydrogen.volumeMl) - Number(hydrogen.blankMl ?? 0)).toPrecision(12)),
    gasTemperatureC: Number(hydrogen.gasC),
    pressureKpa: Number(hydrogen.kPa),
    wet: hydrogen.water === 'wet',
    areaCm2: Number(areaCm2),
    timeH,
    densityGPerCm3: Number(densityGPerCm3),
    molarMassGPerMol: Number(hydrogen.gPerMol),
  };
  const { mmPerYear, waterVapourKpa } = hydrogenRate(gas);
  if (uncertainty?.volumeMl === undefined) return { by: 'hydrogen', mmPerYear, depthUm: depthOf(mmPerYear, timeH) };
  const readings = hydrogen.blankMl === undefined ? 1 : 2;
  const rateAt = (gasTemperatureC: number) => hydrogenRate({ ...gas, gasTemperatureC }).mmPerYear;
  // Vapour is known from 0 to 100 °C.
  const [cold, warm] = gas.wet ? [0, 100] : [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  const below = Math.max(cold, gas.gasTemperatureC - STEP_C);
  const above = Math.min(warm, gas.gasTemperatureC + STEP_C);
  const gasUncertaintyC = Number(uncertainty.gasC ?? 0);
  const quantities: KnownQuantity[] = [
    {
      ...{ quantity: 'volumeMl', value: gas.volumeMl, sensitivity: hydrogenRate({ ...gas, volumeMl: 1 }).mmPerYear },
      standardUncertainty: Number(uncertainty.volumeMl) * Math.sqrt(readings),
    },
    {
      // Wet gas holds more vapour when it is warmer, besides being wider.
      ...{ quantity: 'gasC', value: gas.gasTemperatureC },
      sensitivity: (rateAt(above) - rateAt(below)) / (above - below),
      standardUncertainty: gasUncertaintyC,
    },
    {
      ...{ quantity: 'kPa', value: gas.pressureKpa, sensitivity: mmPerYear / (gas.pressureKpa - waterVapourKpa) },
      standardUncertainty: Number(uncertainty.kPa ?? 0),
    },
  ];
  const divisors = dividing(
    mmPerYear,
    { areaCm2: gas.areaCm2, timeH, densityGPerCm3: gas.densityGPerCm3 },
    uncertainty,
  );
  const of = ([volumeMl, gasC, kPa, area, time, density]: readonly number[]) => {
    const celsius = Math.min(warm, Math.max(cold, gasC!));
    const vapourKpa = gas.wet ? waterVapourPressureKpa(celsius) : 0;
    const mol = ((kPa! - vapourKpa) * volumeMl! * 1e-3) / (GAS_CONSTANT_J_PER_MOL_K * (celsius + ZERO_CELSIUS_K));
    return quotient(10 * HOURS_PER_YEAR * gas.molarMassGPerMol * mol, area!, time!, density!);
  };
  const isEnough = isStraight(divisors) && gasUncertaintyC <= STRAIGHT_GAS_C;
  const known = propagated([...quantities, ...divisors], isEnough, of, at?.simulation, at?.confidence);
  return withUncertainty('hydrogen', mmPerYear, timeH, known);
}

const STEP_C = 0.01;

/** Over a degree vapour rises by a twentieth: what bends within it is less than a hundredth of what it changes. */
const STRAIGHT_GAS_C = 1;

const isStraight = (divisors: readonly KnownQuantity[]): boolean =>
  areStraight(divisors.map(({ value, standardUncertainty }) => [value, standardUncertainty]));

/** What a rate is divided by: it changes by −rate/x for each unit of x. */
const dividing = (
  mmPerYear: number,
  by: Partial<Record<'areaCm2' | 'timeH' | 'densityGPerCm3', number>>,
  uncertainty: NonNullable<Exposure['uncertainty']>,
): KnownQuantity[] =>
  Object.entries(by).map(([name, value]) => {
    const quantity = name as keyof typeof by;
    return {
      ...{ quantity, value, sensitivity: -mmPerYear / value },
      standardUncertainty: Number(uncertainty[quantity] ?? 0),
    };
  });

const withUncertainty = (
  by: RateBy,
  mmPerYear: number,
  timeH: number,
  { standardUncertaintyMmPerYear: first, budget, simulatedMmPerYear }: Omit<RateUncertainty, 'mmPerYear'>,
): ExposureRate => {
  const standardUncertaintyMmPerYear = simulatedMmPerYear ?? first;
  return {
    ...{ by, mmPerYear, depthUm: depthOf(mmPerYear, timeH) },
    ...{ depthUncertaintyUm: depthOf(standardUncertaintyMmPerYear, timeH), standardUncertaintyMmPerYear, budget },
    ...(simulatedMmPerYear === undefined ? {} : { isSimulated: true }),
  };
};

function byCurrent({ current, densityGPerCm3 }: Exposure): ExposureRate[] {
  if (current === undefined || densityGPerCm3 === undefined) return [];
  const { mmPerYear } = currentRate({
    currentUaPerCm2: Number(current.uAPerCm2),
    equivalentWeight: Number(current.equivalentWeight),
    densityGPerCm3: Number(densityGPerCm3),
  });
  return [{ by: 'current', mmPerYear }];
}
