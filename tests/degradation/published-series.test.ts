import fs from 'node:fs';
import path from 'node:path';
import { massLossRates } from '../../src/degradation/corrosion-rate.js';
import { fitLaws } from '../../src/degradation/loss-laws.js';
import { lossOverTime } from '../../src/degradation/loss-over-time.js';

/**
 * A published immersion series of seven durations in each of five media: low-carbon steel in distilled water and in sodium
 * chloride (N. Ali and M. A. Fulazzaky, Heliyon 6 (2020) e05050, open access, table 4). The laws are held against fits by R 4.2.2,
 * lm and nls (tests/reference/write-immersion-fits.R). It is steel: of magnesium no open series was found that tells its losses in
 * numbers.
 */
const table = (name: string): string[][] =>
  fs
    .readFileSync(path.join(import.meta.dirname, '../reference', name), 'utf8')
    .trim()
    .split('\n')
    .map((line) => line.split(','));

const [[, ...media], ...rows] = table('immersion-steel.csv') as [string[], ...string[][]];
const PART = 0.1;
const seriesOf = (medium: string) => {
  const column = 1 + media.indexOf(medium);
  return rows.map((row) => ({ hours: Number(row[0]), lost: Number(row[column]) }));
};
const [, ...fits] = table('immersion-fits.csv');

describe('laws of a published immersion series, medium by medium', () => {
  it.each(fits.map((row) => [row[0]!, row[1]!, row.slice(2).map(Number)] as const))(
    '%s: the %s law as R fits it',
    (medium, law, [a, b, chiSquare, p, aicc, at1200, variance1200]) => {
      const losses = seriesOf(medium).map(({ hours, lost }) => ({
        ...{ hours, depthUm: lost, varianceUm2: (PART * lost) ** 2 },
      }));
      const found = fitLaws(losses, losses.length).find((one) => one.law === law)!;
      expect(found.a / a!).toBeCloseTo(1, 4);
      if (law === 'power') expect(found.b! / b!).toBeCloseTo(1, 5);
      expect(found.chiSquare / chiSquare!).toBeCloseTo(1, 6);
      expect(found.p / p!).toBeCloseTo(1, 5);
      expect(found.aicc! / aicc!).toBeCloseTo(1, 6);
      expect(found.at(1200) / at1200!).toBeCloseTo(1, 5);
      // Where a law leaves more than its variances explain, its own variance grows by that.
      const excess = Math.max(1, found.chiSquare / found.degreesOfFreedom);
      expect(found.varianceAt(1200) / (excess * variance1200!)).toBeCloseTo(1, 4);
    },
  );

  // The paper: loss grows in proportion to time, 0.202 mm/y in water and 0.286 mm/y in 5 %.
  it.each([
    ['NaCl 0 %', 0.202],
    ['NaCl 5 %', 0.286],
  ])('%s: the straight line that the paper follows, at its rate of %d mm/y', (medium, rate) => {
    // 80 mm × 24 mm × 3 mm with a hole of 10 mm; 7.86 g/cm³ (ASTM G1, from memory).
    const areaCm2 = (2 * (80 * 24 - 25 * Math.PI) + 2 * (80 + 24) * 3 + 10 * Math.PI * 3) / 100;
    const losses = seriesOf(medium).map(({ hours, lost }) => {
      const of = { massLossG: lost, areaCm2, timeH: hours, densityGPerCm3: 7.86 };
      const depthUm = (1000 * massLossRates(of).mmPerYear * hours) / 8760;
      return { hours, depthUm, standardUncertaintyUm: PART * depthUm };
    });
    const { law, why, at } = lossOverTime(losses);
    expect([law?.law, why]).toEqual(['linear', expect.stringMatching(/least criterion|fewest parameters/)]);
    expect((8.76 * law!.a) / rate).toBeGreaterThan(0.92);
    expect((8.76 * law!.a) / rate).toBeLessThan(1.04);
    expect(at(2000)).toBeUndefined();
  });
});
