import type { Exposure } from '../kinds/degradation/exposure.js';
import { currentRate, hydrogenRate, massLossRates } from './corrosion-rate.js';
import { DAYS_PER_YEAR } from './physical-constants.js';
import { type BudgetLine, rateUncertainty } from './rate-uncertainty.js';

/** By what a rate was found. */
export type RateBy = 'mass loss' | 'tomography' | 'hydrogen' | 'current';

export interface ExposureRate {
  readonly by: RateBy;
  readonly mmPerYear: number;
  /** Mean depth lost on the area that met the medium; absent for a current, which is none. */
  readonly depthUm?: number;
  /** Of rate and depth, each as a part of itself, where the exposure states uncertainties that belong to it. */
  readonly relativeUncertainty?: number;
  /** Standard uncertainty of the rate, with where it comes from. */
  readonly standardUncertaintyMmPerYear?: number;
  readonly budget?: readonly BudgetLine[];
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

/**
 * Every rate that an exposure tells, the one that counts first: mass loss, then tomography, then hydrogen. A current comes
 * last and never counts alone (ASTM G102; docs/formulas.md). None while it lasts.
 * @throws CalculationError for what contradicts itself; documents that were taken in do not.
 */
export function ratesOf(exposure: Exposure): ExposureRate[] {
  const timeH = hoursOf(exposure);
  if (timeH === undefined) return [];
  return [
    ...byMass(exposure, timeH),
    ...byTomography(exposure, timeH),
    ...byHydrogen(exposure, timeH),
    ...byCurrent(exposure),
  ];
}

/** The rate that may be a result: never that of a current. */
export const countingRate = (exposure: Exposure): ExposureRate | undefined =>
  ratesOf(exposure).find(({ by }) => by !== 'current');

const depthOf = (mmPerYear: number, timeH: number): number => (1000 * mmPerYear * timeH) / (24 * DAYS_PER_YEAR);

function byMass(exposure: Exposure, timeH: number): ExposureRate[] {
  const lossG = massLossG(exposure);
  const { areaCm2, densityGPerCm3, uncertainty, massG } = exposure;
  if (lossG === undefined || densityGPerCm3 === undefined) return [];
  const loss = { massLossG: lossG, areaCm2: Number(areaCm2), timeH, densityGPerCm3: Number(densityGPerCm3) };
  const { mmPerYear } = massLossRates(loss);
  const rate = { by: 'mass loss' as const, mmPerYear, depthUm: depthOf(mmPerYear, timeH) };
  if (uncertainty === undefined) return [rate];
  // The loss is a difference of two weighings, and of two more where a blank was weighed.
  const weighings = massG?.blankLoss === undefined ? 2 : 4;
  const { standardUncertaintyMmPerYear, budget } = rateUncertainty({
    ...loss,
    massLossUncertaintyG: Number(uncertainty.massG ?? 0) * Math.sqrt(weighings),
    areaUncertaintyCm2: Number(uncertainty.areaCm2 ?? 0),
    timeUncertaintyH: Number(uncertainty.timeH ?? 0),
    densityUncertaintyGPerCm3: Number(uncertainty.densityGPerCm3 ?? 0),
  });
  const relativeUncertainty = mmPerYear > 0 ? standardUncertaintyMmPerYear / mmPerYear : 0;
  return [{ ...rate, relativeUncertainty, standardUncertaintyMmPerYear, budget }];
}

/** Lost volume over the area that met the medium: mm³ over cm² is a hundredth of a millimetre. */
function byTomography({ volumeMm3, areaCm2 }: Exposure, timeH: number): ExposureRate[] {
  if (volumeMm3 === undefined) return [];
  const depthUm = (10 * (Number(volumeMm3.before) - Number(volumeMm3.after))) / Number(areaCm2);
  return [{ by: 'tomography', mmPerYear: (depthUm * 24 * DAYS_PER_YEAR) / (1000 * timeH), depthUm }];
}

function byHydrogen({ hydrogen, areaCm2, densityGPerCm3 }: Exposure, timeH: number): ExposureRate[] {
  if (hydrogen === undefined || densityGPerCm3 === undefined) return [];
  const { mmPerYear } = hydrogenRate({
    volumeMl: Number((Number(hydrogen.volumeMl) - Number(hydrogen.blankMl ?? 0)).toPrecision(12)),
    gasTemperatureC: Number(hydrogen.gasC),
    pressureKpa: Number(hydrogen.kPa),
    wet: hydrogen.water === 'wet',
    areaCm2: Number(areaCm2),
    timeH,
    densityGPerCm3: Number(densityGPerCm3),
    molarMassGPerMol: Number(hydrogen.gPerMol),
  });
  return [{ by: 'hydrogen', mmPerYear, depthUm: depthOf(mmPerYear, timeH) }];
}

function byCurrent({ current, densityGPerCm3 }: Exposure): ExposureRate[] {
  if (current === undefined || densityGPerCm3 === undefined) return [];
  const { mmPerYear } = currentRate({
    currentUaPerCm2: Number(current.uAPerCm2),
    equivalentWeight: Number(current.equivalentWeight),
    densityGPerCm3: Number(densityGPerCm3),
  });
  return [{ by: 'current', mmPerYear }];
}
