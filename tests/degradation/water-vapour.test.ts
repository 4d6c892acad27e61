import { waterVapourPressureKpa } from '../../src/degradation/water-vapour.js';
import { relativeError } from '../support/numbers.js';

describe('saturation pressure of water vapour', () => {
  // Check values of the equation itself (IAPWS SR1-86): triple point and normal boiling point, from memory.
  it.each([
    [0.01, 0.611657],
    [99.9743, 101.325],
  ])('at %d °C is %d kPa', (temperatureC, expected) => {
    expect(relativeError(waterVapourPressureKpa(temperatureC), expected)).toBeLessThan(1e-6);
  });

  // Another equation of the same property: IAPWS-IF97 region 4, computed with its published coefficients.
  it.each([
    [20, 2.3392148],
    [25, 3.1697469],
    [37, 6.2818494],
    [50, 12.35127],
    [100, 101.417978],
  ])('at %d °C is within 0.01 %% of the industrial formulation, %d kPa', (temperatureC, expected) => {
    expect(relativeError(waterVapourPressureKpa(temperatureC), expected)).toBeLessThan(1e-4);
  });

  it.each([-1, 101, Number.NaN])('refuses %d °C', (temperatureC) => {
    expect(() => waterVapourPressureKpa(temperatureC)).toThrow(expect.objectContaining({ field: 'temperatureC' }));
  });
});
