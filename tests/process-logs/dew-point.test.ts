import { waterVapourPressureKpa } from '../../src/degradation/water-vapour.js';
import { DewPointConversion, saturationPressurePa } from '../../src/process-logs/dew-point.js';

const ONE_ATMOSPHERE_PA = 101_325;

/** Share of moisture at one atmosphere, ppm by volume. */
function ppmAt(dewPointC: number, over: 'ice' | 'water', pressurePa = ONE_ATMOSPHERE_PA): number {
  const source = { over, pressure: 1, pressureFactor: 1, ambient: null, ambientFactor: 0, shareFactor: 1e6 };
  const values = Float64Array.of(dewPointC, pressurePa);
  expect(new DewPointConversion(0, source).apply(values)).toBeUndefined();
  return values[0]!;
}

const relative = (value: number, expected: number) => Math.abs(value / expected - 1);

describe('saturation over ice', () => {
  it('gives the check value of IAPWS R14-08(2011), table 6: 8.94735 Pa at 230 K', () => {
    expect(saturationPressurePa(230 - 273.15, 'ice').toPrecision(6)).toBe('8.94735');
  });

  it('meets water at the triple point, 611.657 Pa at 273.16 K (IAPWS R14-08)', () => {
    expect(relative(saturationPressurePa(0.01, 'ice'), 611.657)).toBeLessThan(1e-6);
    expect(relative(saturationPressurePa(0.01, 'water'), 611.657)).toBeLessThan(1e-5);
  });

  /** Sonntag's own formula over ice (Z. Meteorol. 70, 1990), another one than is used here. */
  const sonntagIce = (t: number) =>
    Math.exp(-6024.5282 / t + 29.32707 + 1.0613868e-2 * t - 1.3198825e-5 * t * t - 0.49382577 * Math.log(t));

  it.each([-80, -60, -40, -20, -5])('agrees at %s °C with Sonntag (1990) to one part in a thousand', (dewPointC) => {
    expect(relative(saturationPressurePa(dewPointC, 'ice'), sonntagIce(dewPointC + 273.15))).toBeLessThan(1e-3);
  });

  it('is over water above 0 °C, where there is no ice', () => {
    expect(saturationPressurePa(12, 'ice')).toBe(saturationPressurePa(12, 'water'));
  });
});

describe('saturation over water', () => {
  it.each([0, 10, 25, 60, 100])('agrees at %s °C with IAPWS SR1-86 to one part in a thousand', (dewPointC) => {
    const expected = waterVapourPressureKpa(dewPointC) * 1000;
    expect(relative(saturationPressurePa(dewPointC, 'water'), expected)).toBeLessThan(1e-3);
  });

  /** D. M. Murphy, T. Koop, Q. J. R. Meteorol. Soc. 131 (2005) 1539, equation 10: supercooled water. */
  const murphyKoop = (t: number) =>
    Math.exp(
      54.842763 -
        6763.22 / t -
        4.21 * Math.log(t) +
        0.000367 * t +
        Math.tanh(0.0415 * (t - 218.8)) * (53.878 - 1331.22 / t - 9.44523 * Math.log(t) + 0.014025 * t),
    );

  it.each([-30, -20, -10])(
    'agrees at %s °C, supercooled, with Murphy and Koop (2005) to 3 in a thousand',
    (dewPointC) => {
      expect(relative(saturationPressurePa(dewPointC, 'water'), murphyKoop(dewPointC + 273.15))).toBeLessThan(3e-3);
    },
  );

  it('lies above that over ice: −20 °C is 103.3 Pa over ice and 125.5 Pa over water (WMO-No. 8 formulas, from memory)', () => {
    expect(saturationPressurePa(-20, 'ice')).toBeCloseTo(103.3, 0);
    expect(saturationPressurePa(-20, 'water')).toBeCloseTo(125.5, 0);
  });
});

describe('moisture from a dew point', () => {
  // Frost points of moisture in a gas at one atmosphere, to the degree, as hygrometer tables print them (common practice).
  it.each([
    { ppm: 1, frostPointC: -76 },
    { ppm: 10, frostPointC: -60 },
    { ppm: 50, frostPointC: -48 },
    { ppm: 100, frostPointC: -42 },
    { ppm: 500, frostPointC: -27 },
  ])('$ppm ppm lie at $frostPointC °C', ({ ppm, frostPointC }) => {
    expect(ppmAt(frostPointC - 0.5, 'ice')).toBeLessThan(ppm);
    expect(ppmAt(frostPointC + 0.5, 'ice')).toBeGreaterThan(ppm);
  });

  it('is inverse to the pressure: half the pressure, twice the share', () => {
    expect(ppmAt(-50, 'ice', 50_000)).toBeCloseTo(2 * ppmAt(-50, 'ice', 100_000), 10);
  });

  it('comes from a gauge pressure and the ambient pressure together', () => {
    const source = {
      over: 'ice',
      pressure: 1,
      pressureFactor: 100,
      ambient: 2,
      ambientFactor: 100,
      shareFactor: 1e6,
    } as const;
    const values = Float64Array.of(-50, 20, 993.25);
    new DewPointConversion(0, source).apply(values);
    expect(values[0]).toBeCloseTo(ppmAt(-50, 'ice'), 9);
  });

  it.each([
    { what: 'no pressure', dewPointC: -50, pressurePa: Number.NaN, trouble: 'no pressure' },
    { what: 'a pressure of zero', dewPointC: -50, pressurePa: 0, trouble: 'pressure not above that of the vapour' },
    {
      what: 'a gauge pressure by mistake',
      dewPointC: 10,
      pressurePa: 300,
      trouble: 'pressure not above that of the vapour',
    },
    { what: 'a broken sensor', dewPointC: -200, pressurePa: 1e5, trouble: 'outside the formula' },
    { what: 'too hot', dewPointC: 101, pressurePa: 1e7, trouble: 'outside the formula' },
  ])('is missing with $what, never guessed', ({ dewPointC, pressurePa, trouble }) => {
    const source = {
      over: 'ice',
      pressure: 1,
      pressureFactor: 1,
      ambient: null,
      ambientFactor: 0,
      shareFactor: 1e6,
    } as const;
    const values = Float64Array.of(dewPointC, pressurePa);
    expect(new DewPointConversion(0, source).apply(values)).toBe(trouble);
    expect(values[0]).toBeNaN();
  });

  it.each([
    [-121, 'ice'],
    [-46, 'water'],
    [101, 'water'],
    [Number.NaN, 'ice'],
  ] as const)('refuses %s °C over %s', (dewPointC, over) => {
    expect(() => saturationPressurePa(dewPointC, over)).toThrow(/temperatureC/);
  });
});
