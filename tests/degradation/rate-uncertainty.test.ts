import { massLossRates } from '../../src/degradation/corrosion-rate.js';
import { expandedUncertainty, rateUncertainty } from '../../src/degradation/rate-uncertainty.js';
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
