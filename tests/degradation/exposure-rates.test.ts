import { ratesOf } from '../../src/degradation/exposure-rates.js';
import type { Exposure } from '../../src/kinds/degradation/exposure.js';
import { normalNumbers, relativeError } from '../support/numbers.js';

/** The coupon that domain vectors are worked on: 5.652 cm² of 1.84 g/cm³ for 336 h. */
const exposure = (measured: Partial<Exposure>): Exposure =>
  ({
    from: '2031-03-05T08:00:00Z',
    to: '2031-03-19T08:00:00Z',
    areaCm2: '5.652',
    densityGPerCm3: '1.84',
    ...measured,
  }) as Exposure;

const GAS = { volumeMl: '6.50', blankMl: '0.30', gasC: '37', kPa: '101.0', gPerMol: '24.305', water: 'wet' } as const;
const MASS = { before: '1.92340', afterCleaning: '1.91100' };
const VOLUME = { before: '250.00', after: '243.26' };

describe('rates of an exposure', () => {
  it.each([
    // Worked by hand: 87600 × 0.0124 / (5.652 × 336 × 1.84).
    ['mass loss', { massG: MASS }, 0.31086],
    // Water vapour by IAPWS, 6.282 kPa: 0.13876 with 6.280.
    ['hydrogen', { hydrogen: GAS }, 0.13876],
    // 6.74 mm³ over 565.2 mm² in 14 days of a year of 365.
    ['tomography', { volumeMm3: VOLUME }, ((6.74 / 565.2) * 365) / 14],
    ['current', { current: { uAPerCm2: '25', equivalentWeight: '12.1525' }, densityGPerCm3: '1.738' }, 0.57135],
  ] as const)('%s', (by, measured, mmPerYear) => {
    const [rate] = ratesOf(exposure(measured));
    expect(rate!.by).toBe(by);
    expect(rate!.mmPerYear).toBeCloseTo(mmPerYear, 4);
    expect(rate!.standardUncertaintyMmPerYear).toBeUndefined();
  });

  /** Each quantity drawn about its value by its uncertainty, the rate computed for each draw (JCGM 101:2008, 7). */
  const simulated = (measured: Partial<Exposure>, draw: (normal: () => number) => Partial<Exposure>) => {
    const normal = normalNumbers(20_261_130);
    const rates = Array.from({ length: 4000 }, () => ratesOf(exposure({ ...measured, ...draw(normal) }))[0]!.mmPerYear);
    const mean = rates.reduce((sum, rate) => sum + rate, 0) / rates.length;
    return Math.sqrt(rates.reduce((sum, rate) => sum + (rate - mean) ** 2, 0) / (rates.length - 1));
  };
  const about = (normal: () => number, value: string, u: number) => String(Number(value) + u * normal());

  it.each([
    [
      'tomography',
      { volumeMm3: VOLUME, uncertainty: { volumeMm3: '0.2', areaCm2: '0.1' } },
      (normal: () => number) => ({
        areaCm2: about(normal, '5.652', 0.1),
        volumeMm3: { before: about(normal, VOLUME.before, 0.2), after: about(normal, VOLUME.after, 0.2) },
      }),
      'volumeMm3',
    ],
    [
      'hydrogen, wet, with a blank',
      { hydrogen: GAS, uncertainty: { volumeMl: '0.05', gasC: '2', kPa: '0.3', densityGPerCm3: '0.01' } },
      (normal: () => number) => ({
        densityGPerCm3: about(normal, '1.84', 0.01),
        hydrogen: {
          ...{ ...GAS, volumeMl: about(normal, GAS.volumeMl, 0.05), blankMl: about(normal, GAS.blankMl, 0.05) },
          ...{ gasC: about(normal, GAS.gasC, 2), kPa: about(normal, GAS.kPa, 0.3) },
        },
      }),
      'gasC',
    ],
  ])('are known as well as a simulation says: %s', (_, measured, draw, largest) => {
    const [rate] = ratesOf(exposure(measured as Partial<Exposure>));
    const spread = simulated(measured as Partial<Exposure>, draw);
    expect(relativeError(rate!.standardUncertaintyMmPerYear!, spread)).toBeLessThan(0.05);
    const [most] = [...rate!.budget!].sort((a, b) => b.share! - a.share!);
    expect(most!.quantity).toBe(largest);
    expect(rate!.budget!.reduce((sum, { share = 0 }) => sum + share, 0)).toBeCloseTo(1, 12);
    expect(rate!.depthUncertaintyUm! / rate!.depthUm!).toBeCloseTo(
      rate!.standardUncertaintyMmPerYear! / rate!.mmPerYear,
      12,
    );
  });

  it('know how well a loss of nothing is known', () => {
    const nothing = exposure({
      massG: { before: '1.92340', afterCleaning: '1.92340' },
      uncertainty: { massG: '0.0001' },
    });
    // √2 × 0.1 mg over 5.652 cm² of 1.84 g/cm³: 0.136 µm.
    expect(ratesOf(nothing)[0]).toMatchObject({ mmPerYear: 0, depthUncertaintyUm: expect.closeTo(0.13598, 4) });
  });

  it.each<[string, Partial<Exposure>]>([
    ['mass loss', { massG: MASS, uncertainty: { areaCm2: '0.02', volumeMl: '0.1' } }],
    ['tomography', { volumeMm3: VOLUME, uncertainty: { massG: '0.00002', timeH: '0.1' } }],
    ['hydrogen', { hydrogen: GAS, uncertainty: { gasC: '1', kPa: '0.1' } }],
  ])('have no uncertainty where that of what was lost is not stated: %s', (by, measured) => {
    const [rate] = ratesOf(exposure(measured));
    expect(rate).toMatchObject({ by, mmPerYear: expect.any(Number), depthUm: expect.any(Number) });
    expect(rate).not.toHaveProperty('standardUncertaintyMmPerYear');
    expect(rate).not.toHaveProperty('depthUncertaintyUm');
  });

  it('are none while the exposure lasts, and know their uncertainty at the end of the scale of vapour', () => {
    const { to: _, ...lasting } = exposure({ massG: MASS });
    expect(ratesOf(lasting as Exposure)).toEqual([]);
    const cold = exposure({ hydrogen: { ...GAS, gasC: '0' }, uncertainty: { volumeMl: '0', gasC: '1' } });
    expect(ratesOf(cold)[0]!.standardUncertaintyMmPerYear).toBeGreaterThan(0);
  });
});
