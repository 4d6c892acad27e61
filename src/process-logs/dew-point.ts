import { CalculationError } from '../base/errors.js';
import type { DewPointTrouble } from '../dossier/finding-detail.js';

/**
 * Moisture from a dew point: what a hygrometer reports in degrees is a vapour pressure, and its share of the gas follows
 * only with the total pressure at the sensor. Pure water vapour; the real-gas enhancement (about half a percent in air at
 * one bar) is left out.
 */

/** What the vapour is in equilibrium with below 0 °C. Above, it is water in either case. */
export type Condensate = 'ice' | 'water';

export const COLDEST_C = -120;
export const COLDEST_WATER_C = -45;
export const WARMEST_C = 100;

const ZERO_CELSIUS_K = 273.15;
const TRIPLE_POINT_K = 273.16;
const TRIPLE_POINT_PA = 611.657;
/** Coefficient and power of θ = T / 273.16 K. */
const ICE_TERMS: readonly (readonly [number, number])[] = [
  [-21.2144006, 0.00333333333],
  [27.3203819, 1.20666667],
  [-6.1059813, 1.70333333],
];

/**
 * Saturation pressure of water vapour in Pa, rounded to 9 significant digits, because exp and log differ between engines
 * in the last bits. Sources: over ice IAPWS R14-08(2011), equation 6, ln(p/pt) = (1/θ) Σ a θ^b; over water, supercooled
 * too, D. Sonntag, Z. Meteorol. 70 (1990) 340, on ITS-90. Over water below −45 °C published formulas part by percents;
 * below −120 °C no hygrometer measures (common practice): both are refused.
 * @throws CalculationError outside −120 °C (over water −45 °C) to 100 °C.
 */
export function saturationPressurePa(temperatureC: number, over: Condensate): number {
  const coldest = over === 'ice' ? COLDEST_C : COLDEST_WATER_C;
  if (!(temperatureC >= coldest && temperatureC <= WARMEST_C)) {
    const expected = `${coldest} to ${WARMEST_C} °C over ${over}`;
    throw new CalculationError('temperatureC', `found ${temperatureC}, expected ${expected}`);
  }
  const temperatureK = temperatureC + ZERO_CELSIUS_K;
  const isIce = over === 'ice' && temperatureK <= TRIPLE_POINT_K;
  return Number((isIce ? overIce(temperatureK) : overWater(temperatureK)).toPrecision(9));
}

function overIce(temperatureK: number): number {
  const theta = temperatureK / TRIPLE_POINT_K;
  const sum = ICE_TERMS.reduce((total, [coefficient, power]) => total + coefficient * theta ** power, 0);
  return TRIPLE_POINT_PA * Math.exp(sum / theta);
}

function overWater(temperatureK: number): number {
  const quadratic = 21.2409642 - 2.711193e-2 * temperatureK + 1.673952e-5 * temperatureK * temperatureK;
  return Math.exp(-6096.9385 / temperatureK + quadratic + 2.433502 * Math.log(temperatureK));
}

/** Of a mixture of gases at one atmosphere, Pa. */
const ATMOSPHERE_PA = 101_325;

/**
 * Frost point in °C, to a tenth, of a share of water by volume in gas at one atmosphere: where the saturation pressure
 * over ice is that of the vapour. Undefined where it lies outside −120 °C to 0 °C.
 */
export function frostPointC(share: number): number | undefined {
  const vapourPa = share * ATMOSPHERE_PA;
  let [low, high] = [COLDEST_C, 0];
  if (!(vapourPa >= saturationPressurePa(low, 'ice') && vapourPa <= saturationPressurePa(high, 'ice')))
    return undefined;
  while (high - low > 0.001) {
    const middle = (low + high) / 2;
    if (saturationPressurePa(middle, 'ice') < vapourPa) low = middle;
    else high = middle;
  }
  return Number(((low + high) / 2).toFixed(1));
}

/** How one channel of a log becomes a share of the gas. Channels are places in the row. */
export interface DewPointSource {
  readonly over: Condensate;
  /** Channel of the pressure at the sensor, and what makes its values Pa. */
  readonly pressure: number;
  readonly pressureFactor: number;
  /** Channel of the ambient pressure where the first is a gauge pressure; null where it is absolute. */
  readonly ambient: number | null;
  readonly ambientFactor: number;
  /** What makes a share of the total number of molecules the unit of the windows: 1 000 000 for ppm. */
  readonly shareFactor: number;
}

/** Saturation pressures that are kept: a hygrometer logs few different values. */
const MOST_KEPT = 10_000;

/** Turns the dew points of one channel, in °C, into shares of the gas by volume (of molecules, wet gas). */
export class DewPointConversion {
  private readonly kept = new Map<number, number>();

  constructor(
    readonly channel: number,
    private readonly source: DewPointSource,
  ) {}

  /** Replaces the value of the channel in the row; NaN when it cannot be known. @returns why it cannot. */
  apply(values: Float64Array): DewPointTrouble | undefined {
    const dewPointC = values[this.channel]!;
    if (Number.isNaN(dewPointC)) return undefined;
    const { pressure, pressureFactor, ambient, ambientFactor, shareFactor } = this.source;
    values[this.channel] = Number.NaN;
    const ambientPa = ambient === null ? 0 : values[ambient]! * ambientFactor;
    const totalPa = values[pressure]! * pressureFactor + ambientPa;
    if (Number.isNaN(totalPa)) return 'no pressure';
    const vapourPa = this.saturation(dewPointC);
    if (Number.isNaN(vapourPa)) return 'outside the formula';
    if (totalPa <= vapourPa) return 'pressure not above that of the vapour';
    values[this.channel] = (vapourPa / totalPa) * shareFactor;
    return undefined;
  }

  private saturation(dewPointC: number): number {
    const known = this.kept.get(dewPointC);
    if (known !== undefined) return known;
    const { over } = this.source;
    const coldest = over === 'ice' ? COLDEST_C : COLDEST_WATER_C;
    const isCovered = dewPointC >= coldest && dewPointC <= WARMEST_C;
    const found = isCovered ? saturationPressurePa(dewPointC, over) : Number.NaN;
    if (this.kept.size >= MOST_KEPT) this.kept.clear();
    this.kept.set(dewPointC, found);
    return found;
  }
}
