import { massLossRates } from '../../src/degradation/corrosion-rate.js';
import {
  budgetOf,
  expandedUncertainty,
  type KnownQuantity,
  rateUncertainty,
} from '../../src/degradation/rate-uncertainty.js';
import { normalNumbers, relativeError } from '../support/numbers.js';

const INPUT = {
  massLossG: 0.0124,
  massLossUncertaintyG: 0.0001,
  areaCm2: 5.652,
  areaUncertaintyCm2: 0.05,
  timeH: 336,
  timeUncertaintyH: 0.5,
  densityGPerCm3: 1.84,
  densityUncertaintyGPerCm3: 0.01,
};

describe('uncertainty of a rate (JCGM 100:2008, 5.1.2)', () => {
  it('adds relative uncertainties of a product in squares (5.1.6)', () => {
    const { mmPerYear, standardUncertaintyMmPerYear } = rateUncertainty(INPUT);
    const relative = Math.hypot(0.0001 / 0.0124, 0.05 / 5.652, 0.5 / 336, 0.01 / 1.84);
    expect(relativeError(standardUncertaintyMmPerYear, mmPerYear * relative)).toBeLessThan(1e-12);
  });

  it('agrees with the spread of simulated rates', () => {
    const normal = normalNumbers(20_260_301);
    let sum = 0;
    let squares = 0;
    const runs = 40_000;
    for (let run = 0; run < runs; run++) {
      const { mmPerYear } = massLossRates({
        massLossG: INPUT.massLossG + INPUT.massLossUncertaintyG * normal(),
        areaCm2: INPUT.areaCm2 + INPUT.areaUncertaintyCm2 * normal(),
        timeH: INPUT.timeH + INPUT.timeUncertaintyH * normal(),
        densityGPerCm3: INPUT.densityGPerCm3 + INPUT.densityUncertaintyGPerCm3 * normal(),
      });
      sum += mmPerYear;
      squares += mmPerYear * mmPerYear;
    }
    const sd = Math.sqrt((squares - (sum * sum) / runs) / (runs - 1));
    // The standard deviation of 40 000 values is known to 0.35 %; three times that.
    expect(relativeError(sd, rateUncertainty(INPUT).standardUncertaintyMmPerYear)).toBeLessThan(0.011);
  });

  /** Budgets are of rates; the arithmetic is that of any measurand. */
  const known = (value: number, standardUncertainty: number, sensitivity: number): KnownQuantity => ({
    ...{ quantity: 'massLossG', value, standardUncertainty, sensitivity },
  });

  it('agrees with the end gauge of JCGM 100:2008, H.1: four parts, 32 nm', () => {
    const standardNm = 50_000_623;
    const { standardUncertaintyMmPerYear: combined, budget } = budgetOf([
      known(standardNm, 25, 1),
      known(215, 9.7, 1),
      // Difference of the expansion coefficients, at 0.1 degrees below 20; difference of the temperatures.
      known(0, 0.58e-6, 0.1 * standardNm),
      known(0, 0.029, -11.5e-6 * standardNm),
    ]);
    const parts = budget.map(({ contributionMmPerYear }) => Number(contributionMmPerYear.toFixed(1)));
    // The guide states 16.6 nm from unrounded inputs; those that it prints give 16.7.
    expect(parts).toEqual([25, 9.7, 2.9, 16.7]);
    expect(Math.round(combined)).toBe(32);
  });

  it('agrees with the additive model of JCGM 101:2008, 9.2.2, whose parts are alike', () => {
    const { standardUncertaintyMmPerYear } = budgetOf([1, 1, 1, 1].map((one) => known(0, one, 1)));
    expect(standardUncertaintyMmPerYear).toBe(2);
    expect(expandedUncertainty(standardUncertaintyMmPerYear, 1.96)).toBeCloseTo(3.92, 12);
  });

  it('lists shares that add up to the whole', () => {
    const { budget } = rateUncertainty(INPUT);
    expect(budget.map(({ quantity }) => quantity)).toEqual(['massLossG', 'areaCm2', 'timeH', 'densityGPerCm3']);
    expect(budget.reduce((sum, { share = 0 }) => sum + share, 0)).toBeCloseTo(1, 12);
    const exact = { massLossUncertaintyG: 0, areaUncertaintyCm2: 0, timeUncertaintyH: 0, densityUncertaintyGPerCm3: 0 };
    expect(rateUncertainty({ ...INPUT, ...exact }).budget.every(({ share }) => share === undefined)).toBe(true);
  });

  it('refuses a negative uncertainty and a coverage factor of zero', () => {
    const negative = { ...INPUT, timeUncertaintyH: -1 };
    expect(() => rateUncertainty(negative)).toThrow(expect.objectContaining({ field: 'timeUncertaintyH' }));
    expect(() => expandedUncertainty(1, 0)).toThrow(expect.objectContaining({ field: 'coverageFactor' }));
  });
});
