import fc from 'fast-check';
import { lossOverTime, type SpecimenLoss } from '../../src/degradation/loss-over-time.js';

const at = (depthOf: (hours: number) => number, hours: readonly number[], factors = [0.98, 1, 1.02]) =>
  hours.flatMap((one) =>
    factors.map(
      (factor): SpecimenLoss => ({
        ...{ hours: one, depthUm: factor * depthOf(one), standardUncertaintyUm: 0.01 * depthOf(one) },
      }),
    ),
  );
const HOURS = [24, 72, 168, 336, 672];

describe('loss over time', () => {
  it.each([
    ['linear', (hours: number) => 0.05 * hours, 0.05, undefined],
    ['power', (hours: number) => 1.4 * hours ** 0.6, 1.4, 0.6],
    ['saturating', (hours: number) => 40 * (1 - Math.exp(-hours / 120)), 40, 120],
  ] as const)('finds the %s law that the values were made by', (name, law, a, b) => {
    const found = lossOverTime(at(law, HOURS));
    expect(found.law?.law).toBe(name);
    expect(found.law!.a).toBeCloseTo(a, 3);
    if (b !== undefined) expect(found.law!.b! / b).toBeCloseTo(1, 4);
    expect(found.at(336)!.depthUm / law(336)).toBeCloseTo(1, 4);
  });

  it('fits a weighted line through the origin by the closed formula', () => {
    // Slope Σwxy/Σwx² with w = 1/u²: (100·5/1 + 200·12/4) / (100²/1 + 200²/4) = 1100/20000; variance 1/Σwx².
    const found = lossOverTime([
      { hours: 100, depthUm: 5, standardUncertaintyUm: 1 },
      { hours: 200, depthUm: 12, standardUncertaintyUm: 2 },
    ]);
    expect(found.why).toBe('two durations');
    expect(found.law!.a).toBeCloseTo(0.055, 12);
    // χ² = 0.25 + 0.25 with one degree of freedom explains itself: the variance is not made larger.
    expect(found.law!.chiSquare).toBeCloseTo(0.5, 12);
    expect(found.at(200)!.curveUm).toBeCloseTo(Math.sqrt(200 ** 2 / 20000), 12);
  });

  it('states nothing beyond the longest exposure, and for one duration nothing at another time', () => {
    const several = lossOverTime(at((hours) => 0.05 * hours, HOURS));
    expect(several.at(672)).toBeDefined();
    expect(several.at(700)).toBeUndefined();
    const one = lossOverTime(at((hours) => 0.05 * hours, [336]));
    expect(one).toMatchObject({ law: undefined, why: 'one duration', laws: [] });
    expect(one.at(336)!.depthUm).toBeCloseTo(16.8, 12);
    expect(one.at(168)).toBeUndefined();
  });

  it('goes from mean to mean where no law fits, and never falls', () => {
    const steps: Record<number, number> = { 24: 10, 72: 10.2, 168: 60, 336: 60.1, 672: 20 };
    const found = lossOverTime(at((hours) => steps[hours]!, HOURS));
    expect(found).toMatchObject({ law: undefined, why: 'no law fits' });
    expect(found.falls).toEqual([{ fromHours: 336, toHours: 672 }]);
    expect(found.at(48)!.depthUm).toBeCloseTo(10.1, 10);
    const places = Array.from({ length: 28 }, (_, index) => found.at(24 * (index + 1))!.depthUm);
    for (const [index, place] of places.entries()) expect(place).toBeGreaterThan((places[index - 1] ?? 0) - 1e-9);
  });

  it('tells the spread of builds from that within them', () => {
    // Within: every build has a range of 2, variance 2. Means 11 and 21: MS between = 2·50 = 100; (100 − 2)/2 = 49.
    const found = lossOverTime(
      [10, 12, 20, 22].map((depthUm, index) => ({
        ...{ hours: 168, depthUm, standardUncertaintyUm: 0 },
        build: index < 2 ? 'B1' : 'B2',
      })),
    );
    expect(found.durations[0]!.withinUm! ** 2).toBeCloseTo(2, 10);
    expect(found.durations[0]!.betweenUm! ** 2).toBeCloseTo(49, 10);
  });

  it.each([
    [[], 'losses'],
    [[{ hours: 0, depthUm: 1, standardUncertaintyUm: 0 }], 'losses.0.hours'],
    [[{ hours: 1, depthUm: -1, standardUncertaintyUm: 0 }], 'losses.0.depthUm'],
    [[{ hours: 1, depthUm: 1, standardUncertaintyUm: -1 }], 'losses.0.standardUncertaintyUm'],
  ])('refuses %j', (losses, field) => {
    expect(() => lossOverTime(losses)).toThrow(expect.objectContaining({ field }));
  });

  it('is known less well the less well the values are', () => {
    const hours = fc.constantFrom(...HOURS);
    fc.assert(
      fc.property(fc.double({ min: 1, max: 20, noNaN: true }), hours, (more, place) => {
        const losses = at((one) => 0.05 * one, HOURS);
        const rough = losses.map((loss) => ({ ...loss, standardUncertaintyUm: more * loss.standardUncertaintyUm }));
        const [exact, less] = [lossOverTime(losses).at(place)!, lossOverTime(rough).at(place)!];
        expect(less.standardUncertaintyUm).toBeGreaterThanOrEqual(exact.standardUncertaintyUm * (1 - 1e-9));
      }),
    );
  });
});
