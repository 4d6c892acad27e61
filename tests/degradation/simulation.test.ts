import { windowByExposures } from '../../src/assessment/window-by-exposures.js';
import { runCalculation } from '../../src/calculations/calculation.js';
import { calculationNamed } from '../../src/calculations/catalogue.js';
import { countingRate, ratesOf } from '../../src/degradation/exposure-rates.js';
import { lossOverTime, type SpecimenLoss } from '../../src/degradation/loss-over-time.js';
import { areStraight, rateUncertainty } from '../../src/degradation/rate-uncertainty.js';
import { farther, simulatedEnds, simulatedUncertainty, toleranceOf } from '../../src/degradation/simulation.js';
import { deepestAt, supportWindow } from '../../src/degradation/support-window.js';
import type { Exposure } from '../../src/kinds/degradation/exposure.js';
import { SIMULATION, Simulation } from '../../src/kinds/degradation/simulation.js';
import { exposureTable } from '../../src/report/exposure-rows.js';
import { normalQuantile } from '../../src/statistics/distributions.js';
import { tQuantile } from '../../src/statistics/student-t.js';
import { normal, simpson, solve } from '../support/by-note/numbers.js';
import { normalNumbers, relativeError } from '../support/numbers.js';

const Z95 = normalQuantile(0.95);
/** A rank of 5 % of 10 000 draws is known to about a fiftieth of the standard deviation. */
const OF_DRAWS = 0.06;

describe('simulation of a loss', () => {
  it('gives the additive model of JCGM 101:2008, 9.2.2: four standard normal quantities, u = 2', () => {
    const four = [...Array(4).keys()].map(() => [0, 1] as const);
    const of = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0);
    expect(relativeError(simulatedUncertainty(four, of, SIMULATION, 0.95).standardUncertainty, 2)).toBeLessThan(0.03);
  });

  it('gives the ends of a quotient whose divisor is hardly known, which first order does not', () => {
    // Quantiles of 1/(1 + r Z) are those of Z turned round: 1/(1 − z r) at the upper end.
    for (const r of [0.05, 0.1, 0.2]) {
      const exact = (1 / (1 - Z95 * r) - 1) / Z95;
      const known = { massLossG: 0.0124, areaCm2: 5, timeH: 336, densityGPerCm3: 1.84 };
      const input = {
        ...known,
        ...{ massLossUncertaintyG: 0, areaUncertaintyCm2: 5 * r, timeUncertaintyH: 0, densityUncertaintyGPerCm3: 0 },
      };
      const { mmPerYear, standardUncertaintyMmPerYear, simulatedMmPerYear } = rateUncertainty(input, SIMULATION);
      expect(relativeError(standardUncertaintyMmPerYear / mmPerYear, r)).toBeLessThan(1e-12);
      expect(relativeError(simulatedMmPerYear! / mmPerYear, exact)).toBeLessThan(0.05);
      expect(simulatedMmPerYear!).toBeGreaterThan(standardUncertaintyMmPerYear);
      expect(rateUncertainty(input)).not.toHaveProperty('simulatedMmPerYear');
    }
  });

  it('has no bound where a divisor may as well be none', () => {
    const of = ([x]: readonly number[]) => (x! > 0 ? 1 / x! : Number.POSITIVE_INFINITY);
    expect(simulatedUncertainty([[1, 1]], of, SIMULATION, 0.95).standardUncertainty).toBe(Number.POSITIVE_INFINITY);
  });

  it('covers both ends at the confidence that is asked, and has no bound where draws are too few for it', () => {
    const of = ([x]: readonly number[]) => (x! > 0 ? 1 / x! : Number.POSITIVE_INFINITY);
    const at = (confidence: number, draws = SIMULATION.draws) =>
      simulatedUncertainty([[1, 0.2]], of, { ...SIMULATION, draws }, confidence).standardUncertainty;
    for (const confidence of [0.9, 0.95, 0.99]) {
      const z = normalQuantile(confidence);
      expect(relativeError(at(confidence), (1 / (1 - 0.2 * z) - 1) / z)).toBeLessThan(0.1);
    }
    expect(at(0.99)).toBeGreaterThan(1.15 * at(0.95));
    expect(at(0.999)).toBe(Number.POSITIVE_INFINITY);
    expect(at(0.999, 100_000)).toBeLessThan(1);
  });

  it('says so where draws are too few for the confidence of a window, and bounds nothing', () => {
    const bent = lossOverTime(law(0.02, 11));
    const asked = { holdWeeks: 8, strengthLeft: 0.1, stiffnessLeft: 0.1 };
    const of = (confidence: number) =>
      supportWindow(
        ...([bent, { shape: 'plate', sizeMm: 2 }, { factor: 1.2, standardUncertainty: 0.02 }, asked] as const),
        ...([confidence, { simulation: SIMULATION }] as const),
      );
    expect(of(0.99)).toMatchObject({ outcome: 'inside', unknown: [] });
    expect(of(0.9999)).toMatchObject({ outcome: 'cannot be decided', unknown: ['draws'] });
  });

  it('takes an end by draws only where it lies beyond first order by more than chance', () => {
    // Straight: first order is exact, and whatever draws lie beyond it is chance. One degree of freedom has the longest tails.
    for (const freedom of [1, 2, 5, 30]) {
      const half = 5 * tQuantile(0.95, freedom);
      const [first, moved] = [
        { lower: 1000 - half, upper: 1000 + half },
        {
          curve: () => 1000,
          specimensUm: 5,
          measuringUm: 0,
          degreesOfFreedom: freedom,
          factor: 1,
          factorUncertainty: 0,
        },
      ];
      for (const seed of [SIMULATION.seed, [11, 22, 33, 44] as const]) {
        const drawn = simulatedEnds(moved, { seed: [...seed], draws: SIMULATION.draws }, 0.95);
        expect(farther(first, drawn)).toEqual(first);
      }
      const within = { lower: 1000 - 0.7 * half, upper: 1000 + 0.7 * half };
      const drawn = simulatedEnds(moved, SIMULATION, 0.95);
      expect(farther(within, drawn)).toEqual({ lower: drawn.lower, upper: drawn.upper });
    }
  });

  it('takes a factor that is known from a thousand million specimens as one that is known', () => {
    const at = (factorDegreesOfFreedom: number) =>
      simulatedEnds(
        {
          ...{ curve: () => 100, specimensUm: 0, measuringUm: 1, degreesOfFreedom: 1e9, factor: 3 },
          ...{ factorUncertainty: 0.3, factorDegreesOfFreedom },
        },
        SIMULATION,
        0.95,
      );
    // Student's t of so many is the normal: first order of the product, to what draws tell.
    expect(relativeError(at(1e9).upper, 300 + Z95 * 30)).toBeLessThan(0.01);
  });

  it('keeps what was drawn for an exposure', () => {
    const exposure = weighed('0.8');
    expect(countingRate(exposure, SIMULATION)).toBe(countingRate(exposure, SIMULATION));
    expect(ratesOf(exposure, SIMULATION)[0]).toBe(countingRate(exposure, SIMULATION));
    const other = countingRate(exposure, { ...SIMULATION, seed: [1, 2, 3, 4] })!;
    expect(other.depthUncertaintyUm).not.toBe(countingRate(exposure, SIMULATION)!.depthUncertaintyUm);
    const sure = countingRate(weighed('0.8'), SIMULATION, 0.99)!.depthUncertaintyUm!;
    expect(sure).toBeGreaterThan(1.1 * countingRate(weighed('0.8'), SIMULATION)!.depthUncertaintyUm!);
  });

  it('bounds nothing by an exposure whose area is stated to be known to no bound, and throws nothing', () => {
    const exposure = weighed('4');
    expect(countingRate(exposure, SIMULATION)!.depthUncertaintyUm).toBe(Number.POSITIVE_INFINITY);
    const { answer, losses } = windowByExposures([exposure], {
      section: { shape: 'plate', sizeMm: 2 },
      asked: { holdWeeks: 2, strengthLeft: 0.5, stiffnessLeft: 0.5 },
      off: new Set(),
      localisation: { factor: 1, standardUncertainty: 0 },
      measured: [],
      buildOf: () => undefined,
      simulation: SIMULATION,
    });
    expect(answer).toEqual({ why: 'no bound' });
    expect(losses).toEqual([]);
    const table = exposureTable({ exposures: new Map([['1', { body: exposure }]]), simulation: SIMULATION } as never);
    expect(table.rows[0]!.join(' ')).toContain('known to no bound');
    expect(table.rows[0]!.join(' ')).not.toMatch(/Infinity|NaN/);
    const stated = {
      ...{ massLossG: 0.0124, massLossUncertaintyG: 0.0001, areaCm2: 5.652, areaUncertaintyCm2: 4 },
      ...{ timeH: 336, timeUncertaintyH: 0.5, densityGPerCm3: 1.84, densityUncertaintyGPerCm3: 0.01 },
    };
    const told = runCalculation(calculationNamed('rate-uncertainty'), stated) as unknown as { notes: string[] };
    expect(told).not.toHaveProperty('simulatedUncertaintyMmPerYear');
    expect(told).not.toHaveProperty('expandedUncertaintyMmPerYear');
    expect(told.notes.join()).toContain('no bound');
  });

  it.each([
    ['a seed at its modulus', { seed: [2147483579, 1, 1, 1] }],
    ['a seed of 0', { seed: [1, 1, 1, 0] }],
    ['fewer draws than leave a hundred beyond an end', { draws: 1999 }],
    ['more draws than a page has time for', { draws: 100_001 }],
  ])('is refused in a lot file with %s', (_, wrong) => {
    expect(
      Simulation.safeParse({ ...SIMULATION, seed: [2147483578, 2147483542, 2147483422, 2147483122] }).success,
    ).toBe(true);
    expect(Simulation.safeParse({ ...SIMULATION, ...wrong }).success).toBe(false);
  });

  it('is not asked where the divisors are known so well that both ends agree within the tolerance of JCGM 101:2008, 8.1', () => {
    for (const r of [0.001, 0.005, 0.01]) {
      expect(areStraight([[5, 5 * r]])).toBe(true);
      // The largest that a quotient differs: nothing else is uncertain.
      const beyond = [1 / (1 - Z95 * r) - 1 - Z95 * r, Z95 * r - (1 - 1 / (1 + Z95 * r))];
      for (const end of beyond) expect(Math.abs(end)).toBeLessThan(toleranceOf(r));
    }
    expect(
      areStraight([
        [5, 0.03],
        [336, 1],
        [1.84, 0.02],
      ]),
    ).toBe(false);
  });

  it.each([
    [0.23, 0.05],
    [0.096, 0.05],
    [1, 0.5],
    [9.4, 0.5],
    [9.6, 5],
    [0, 0],
  ])(
    'tolerates of an uncertainty of %d: half of the place of its first digit, %d (JCGM 101:2008, 7.9.2)',
    (u, half) => {
      // 0.096 with one digit is 0.1.
      expect(toleranceOf(u)).toBeCloseTo(half, 12);
    },
  );

  describe('the deepest attack', () => {
    const UNMOVED = { curve: () => 100, specimensUm: 0, measuringUm: 0, degreesOfFreedom: 5, factor: 1.5 };

    it.each([1, 2, 5, 30])("takes Student's t of %d degrees of freedom for what was estimated from few", (freedom) => {
      const half = 5 * tQuantile(0.95, freedom);
      // One degree of freedom has tails so long that few draws lie near the end.
      const near = freedom === 1 ? 0.15 : OF_DRAWS;
      const ofLoss = simulatedEnds(
        { ...UNMOVED, factor: 1, factorUncertainty: 0, curve: () => 1000, specimensUm: 5, degreesOfFreedom: freedom },
        SIMULATION,
        0.95,
      );
      const ofFactor = simulatedEnds(
        { ...UNMOVED, factor: 200, factorUncertainty: 0.05, factorDegreesOfFreedom: freedom },
        SIMULATION,
        0.95,
      );
      for (const [{ lower, upper }, mean] of [
        [ofLoss, 1000],
        [ofFactor, 20_000],
      ] as const) {
        expect(relativeError((upper - mean) / half, 1)).toBeLessThan(near);
        expect(relativeError((mean - lower) / half, 1)).toBeLessThan(near);
      }
    });

    it('is the product of two normal numbers, by integration', () => {
      // P(X F ≤ y) = ∫ Φ((y/f − 1)/r) φ((f − m)/s)/s df, f above 1 alone, where all but 1e-7 of it lies.
      const [r, m, s] = [0.2, 4, 0.55];
      const cdf = (y: number) =>
        simpson((z) => normal((y / (m + s * z) - 1) / r) * Math.exp((-z * z) / 2), -5, 5, 400) / Math.sqrt(2 * Math.PI);
      const [low, high] = [solve(cdf, 0.05, 0.1, 20), solve(cdf, 0.95, 0.1, 20)];
      const { lower, upper } = simulatedEnds(
        { ...UNMOVED, curve: () => 1, measuringUm: r, factor: m, factorUncertainty: s },
        SIMULATION,
        0.95,
      );
      const u = Math.hypot(m * r, s);
      expect(Math.abs(lower - low)).toBeLessThan(OF_DRAWS * u);
      expect(Math.abs(upper - high)).toBeLessThan(OF_DRAWS * u);
      // First order, symmetric about the mean, does not reach so far up.
      expect(high - m).toBeGreaterThan(Z95 * Math.hypot(m * r, s, r * s) + 0.05 * u);
    });
  });

  const law = (spread: number, seed: number): SpecimenLoss[] => {
    const drawn = normalNumbers(seed);
    return [336, 336, 672, 672, 1344, 1344, 2016, 2016].map((hours) => ({
      ...{ hours, depthUm: 0.4 * hours ** 0.7 * (1 + spread * drawn()), standardUncertaintyUm: 0.05 },
    }));
  };

  it('moves a law along the joint distribution of what was fitted: as first order where it is nearly straight', () => {
    const loss = lossOverTime(law(0.02, 11));
    expect(loss.law?.law).toBe('power');
    const [hours, drawn] = [1500, normalNumbers(5)];
    const at = loss.movedAt(hours);
    const values = Array.from({ length: 20_000 }, () => at(drawn(), drawn()));
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    const spread = Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length);
    expect(relativeError(spread, loss.at(hours)!.curveUm)).toBeLessThan(0.02);
    expect(relativeError(mean, loss.at(hours)!.depthUm)).toBeLessThan(0.002);
  });

  it('says whether first order was enough, and takes the farther of both ends', () => {
    const loss = lossOverTime(law(0.02, 11));
    const of = (standardUncertainty: number, by?: typeof SIMULATION) =>
      deepestAt(loss, { factor: 1.8, standardUncertainty }, 0.95, 8, by)!;
    expect(of(0.02, SIMULATION).firstOrder).toBe('enough');
    const wide = deepestAt(lossOverTime(law(0.2, 3)), { factor: 3, standardUncertainty: 0.7 }, 0.95, 8, SIMULATION)!;
    expect(wide.firstOrder).toBeDefined();
    for (const spread of [0.02, 0.2, 0.6]) {
      const [first, both] = [of(spread), of(spread, SIMULATION)];
      expect(both.lower).toBeLessThanOrEqual(first.lower);
      expect(both.upper).toBeGreaterThanOrEqual(first.upper);
    }
  });

  it('covers the loss of one more specimen as often as it says, the law fitted anew each time', () => {
    // Two groups of specimens from one law; the interval of the first holds a further specimen at its upper end in 95 % and more.
    const drawn = normalNumbers(77);
    let within = 0;
    const rounds = 300;
    for (let round = 0; round < rounds; round += 1) {
      const loss = lossOverTime(law(0.15, 1000 + round));
      const truth = 0.4 * 1344 ** 0.7 * (1 + 0.15 * drawn()) * (2 + 0.4 * drawn());
      const { upper } = deepestAt(loss, { factor: 2, standardUncertainty: 0.4 }, 0.95, 8, {
        ...SIMULATION,
        draws: 2000,
      })!;
      if (truth <= upper) within += 1;
    }
    // 95 % less three standard deviations of 300 tries.
    expect(within / rounds).toBeGreaterThan(0.95 - 3 * Math.sqrt((0.95 * 0.05) / rounds));
  });

  it('gives the same digits from one seed, and close ones from another', () => {
    const loss = lossOverTime(law(0.15, 4));
    const of = (seed: (typeof SIMULATION)['seed']) =>
      deepestAt(loss, { factor: 2, standardUncertainty: 0.6 }, 0.95, 8, { ...SIMULATION, seed })!;
    const [one, again, other] = [of(SIMULATION.seed), of(SIMULATION.seed), of([11, 22, 33, 44])];
    expect(again).toEqual(one);
    expect(relativeError(other.upper, one.upper)).toBeLessThan(0.05);
  });

  const weighed = (areaCm2: string): Exposure =>
    ({
      ...{ from: '2031-03-05T08:00:00Z', to: '2031-03-19T08:00:00Z', areaCm2: '5.652', densityGPerCm3: '1.84' },
      ...{
        medium: { medium: 'SBF', revision: 1 },
        protocol: { method: 'TM-D', revision: 1 },
        pH: {},
        volumeMl: '150',
        temperatureC: '37',
      },
      massG: { before: '1.9234', afterCleaning: '1.911' },
      uncertainty: { massG: '0.00002', areaCm2 },
    }) as unknown as Exposure;

  it('marks the uncertainty of an exposure whose area is hardly known', () => {
    const of = (areaCm2: string) => ratesOf(weighed(areaCm2), SIMULATION)[0]!;
    expect(of('0.05').isSimulated).toBeUndefined();
    expect(of('0.8')).toMatchObject({ isSimulated: true });
    // Upper end 1/(1 − z r) of the rate, r = 0.8/5.652.
    const exact = (1 / (1 - (Z95 * 0.8) / 5.652) - 1) / Z95;
    expect(relativeError(of('0.8').standardUncertaintyMmPerYear! / of('0.8').mmPerYear, exact)).toBeLessThan(0.05);
  });
});
