import { CalculationError } from '../base/errors.js';
import { ZERO_CELSIUS_K } from './physical-constants.js';

const CRITICAL_TEMPERATURE_K = 647.096;
const CRITICAL_PRESSURE_KPA = 22064;

/** Coefficient and power of τ = 1 − T/Tc in the saturation equation. */
const TERMS: readonly (readonly [number, number])[] = [
  [-7.85951783, 1],
  [1.84408259, 1.5],
  [-11.7866497, 3],
  [22.6807411, 3.5],
  [-15.9618719, 4],
  [1.80122502, 7.5],
];

/**
 * Saturation pressure of water vapour over pure liquid water, in kPa, for 0 to 100 °C: ln(p/pc) = (Tc/T) Σ a τ^b.
 * Dissolved salts lower it: about 0.5 % in physiological media, which is not taken into account.
 * Source: Wagner and Pruss, equation of IAPWS SR1-86 (1992).
 * @throws CalculationError outside 0 to 100 °C.
 */
export function waterVapourPressureKpa(temperatureC: number, field = 'temperatureC'): number {
  if (!(temperatureC >= 0 && temperatureC <= 100)) {
    throw new CalculationError(field, `found ${temperatureC}, expected 0 to 100 °C for gas over liquid water`);
  }
  const temperatureK = temperatureC + ZERO_CELSIUS_K;
  const tau = 1 - temperatureK / CRITICAL_TEMPERATURE_K;
  const sum = TERMS.reduce((total, [coefficient, power]) => total + coefficient * tau ** power, 0);
  return CRITICAL_PRESSURE_KPA * Math.exp((CRITICAL_TEMPERATURE_K / temperatureK) * sum);
}
