import fc from 'fast-check';
import { residualSection } from '../../src/degradation/residual-section.js';

describe('residual section', () => {
  // Worked by hand from beam theory, rounded to whole per cent.
  it.each([
    [2, 0.2, 12, 91, 87],
    [2, 0.2, 24, 82, 75],
    [2, 0.5, 12, 78, 69],
    [2, 0.5, 24, 59, 46],
    [1.5, 0.5, 12, 72, 61],
    [1.5, 0.5, 24, 48, 33],
  ])(
    'plate of %d mm at %d mm/y after %d weeks: strength %d %, stiffness %d %',
    (sizeMm, rate, weeks, strength, stiffness) => {
      const left = residualSection({ shape: 'plate', sizeMm, rateMmPerYear: rate, weeks });
      expect(Math.abs(100 * left.strengthLeft - strength)).toBeLessThan(1);
      expect(Math.abs(100 * left.stiffnessLeft - stiffness)).toBeLessThan(1);
    },
  );

  it('compares section moduli and second moments of the circle', () => {
    const left = residualSection({ shape: 'round', sizeMm: 4, rateMmPerYear: 0.73, weeks: 50 });
    // 350 days of 0.73 mm/y are 0.7 mm on each side.
    expect(left.sizeLeftMm).toBeCloseTo(2.6, 12);
    const modulus = (d: number) => (Math.PI * d ** 3) / 32;
    const secondMoment = (d: number) => (Math.PI * d ** 4) / 64;
    expect(left.strengthLeft).toBeCloseTo(modulus(2.6) / modulus(4), 12);
    expect(left.stiffnessLeft).toBeCloseTo(secondMoment(2.6) / secondMoment(4), 12);
    expect(left.tensionLeft).toBeCloseTo((2.6 / 4) ** 2, 12);
  });

  it('never leaves less than nothing, and less with time, rate and localisation', () => {
    const quantity = fc.double({ min: 0, max: 100, noNaN: true });
    const factor = fc.double({ min: 1, max: 10, noNaN: true });
    fc.assert(
      fc.property(fc.constantFrom('plate', 'round'), quantity, quantity, factor, (shape, rate, weeks, localisation) => {
        const base = { shape, sizeMm: 3, rateMmPerYear: rate, weeks } as const;
        const uniform = residualSection(base);
        const pitted = residualSection({ ...base, localisationFactor: localisation });
        expect(uniform.sizeLeftMm).toBeGreaterThanOrEqual(0);
        expect(uniform.stiffnessLeft).toBeLessThanOrEqual(uniform.strengthLeft);
        expect(pitted.sizeLeftMm).toBeLessThanOrEqual(uniform.sizeLeftMm);
        expect(residualSection({ ...base, weeks: weeks + 1 }).sizeLeftMm).toBeLessThanOrEqual(uniform.sizeLeftMm);
      }),
    );
  });

  it.each([
    [{ sizeMm: 0 }, 'sizeMm'],
    [{ rateMmPerYear: -1 }, 'rateMmPerYear'],
    [{ weeks: Number.POSITIVE_INFINITY }, 'weeks'],
    [{ localisationFactor: 0.9 }, 'localisationFactor'],
  ])('refuses %j and names %s', (change, field) => {
    const input = { shape: 'plate', sizeMm: 2, rateMmPerYear: 0.5, weeks: 12, ...change } as const;
    expect(() => residualSection(input)).toThrow(expect.objectContaining({ field }));
  });
});
