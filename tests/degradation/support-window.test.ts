import fc from 'fast-check';
import { lossOverTime } from '../../src/degradation/loss-over-time.js';
import { type LoadSection, sectionLeft, supportWindow } from '../../src/degradation/support-window.js';

const UNIFORM = { factor: 1, standardUncertainty: 0 };
/** A steady loss, in mm of 365 days, known to a part of itself. */
const steady = (mmPerYear: number, weeks: readonly number[], part = 0.001) =>
  lossOverTime(
    weeks.map((week) => {
      const depthUm = (1000 * mmPerYear * week * 7) / 365;
      return { hours: 168 * week, depthUm, standardUncertaintyUm: part * depthUm };
    }),
  );
const plate = (sizeMm: number): LoadSection => ({ shape: 'plate', sizeMm });
const asked = (holdWeeks: number, strengthLeft: number, more: object = {}) => ({
  ...{ holdWeeks, strengthLeft, stiffnessLeft: 0.1 },
  ...more,
});

describe('support window', () => {
  // The table of beam theory worked by hand for residual-section, here through exposures.
  it.each([
    [2, 0.2, 12, 91, 87],
    [2, 0.5, 24, 59, 46],
    [1.5, 0.5, 24, 48, 33],
  ])('a plate of %d mm at %d mm/y keeps after %d weeks %d %% and %d %%', (sizeMm, rate, weeks, strength, stiffness) => {
    const answer = supportWindow(steady(rate, [2, 12, 24]), plate(sizeMm), UNIFORM, asked(weeks, 0.1), 0.95);
    expect(Math.abs(100 * answer.strength!.mean - strength)).toBeLessThan(1);
    expect(Math.abs(100 * answer.stiffness!.mean - stiffness)).toBeLessThan(1);
  });

  it.each([
    ['what is left is enough', asked(12, 0.7), 'inside'],
    ['it is too little', asked(12, 0.9), 'outside'],
    ['the stiffness is too little', asked(12, 0.7, { stiffnessLeft: 0.75 }), 'outside'],
    ['the exposures are too short', asked(30, 0.1), 'cannot be decided'],
    ['it failed within the exposures for longer weeks than they are', asked(30, 0.7), 'outside'],
    ['it should be gone later than the exposures tell', asked(12, 0.7, { goneByWeeks: 100 }), 'cannot be decided'],
    ['it should be gone and is not', asked(12, 0.7, { goneByWeeks: 20 }), 'outside'],
  ])('%s: %j is %s', (_, window, outcome) => {
    expect(supportWindow(steady(0.5, [2, 12, 24]), plate(2), UNIFORM, window, 0.95).outcome).toBe(outcome);
  });

  it('is inside where it holds and is gone in time', () => {
    // 1 mm/y from both faces uses 1 mm in 26.07 weeks; after 4 weeks 1 − 2·0.0767 = 0.8466, squared 0.7168.
    const window = asked(4, 0.7, { goneByWeeks: 30 });
    expect(supportWindow(steady(1, [4, 20, 30]), plate(1), UNIFORM, window, 0.95)).toMatchObject({
      ...{ hold: 'inside', gone: 'inside', outcome: 'inside' },
    });
  });

  it('counts the weeks beyond the window, to the end of the exposures', () => {
    // (1 − w·0.0095890)² ≥ 0.7 up to w = 17.03 weeks at 0.5 mm/y and 2 mm.
    const loss = steady(0.5, [2, 12, 24], 1e-6);
    expect(supportWindow(loss, plate(2), UNIFORM, asked(12, 0.7), 0.95)).toMatchObject({
      ...{ marginWeeks: 5, isAtLeast: false },
    });
    expect(supportWindow(loss, plate(2), UNIFORM, asked(12, 0.1), 0.95)).toMatchObject({
      ...{ marginWeeks: 12, isAtLeast: true },
    });
    expect(supportWindow(loss, plate(2), UNIFORM, asked(20, 0.7), 0.95).marginWeeks).toBe(-3);
  });

  it('one long exposure speaks for the shorter time that it kept the limits, and for no other', () => {
    const one = steady(0.5, [12]);
    expect(supportWindow(one, plate(2), UNIFORM, asked(8, 0.7), 0.95).outcome).toBe('inside');
    expect(supportWindow(one, plate(2), UNIFORM, asked(8, 0.8), 0.95).outcome).toBe('cannot be decided');
    expect(supportWindow(one, plate(2), UNIFORM, asked(14, 0.7), 0.95).outcome).toBe('cannot be decided');
  });

  it('takes a table of section figures as it takes the shape that it was computed of', () => {
    // Rectangle b × h: area bh, section modulus bh²/6, second moment bh³/12 (Roark's Formulas, properties of sections).
    const rows = Array.from({ length: 41 }, (_, index) => {
      const [b, h] = [8, 2 - 2 * 0.02 * index];
      return {
        ...{ depthUm: 20 * index, areaMm2: b * h, sectionModulusMm3: (b * h ** 2) / 6 },
        secondMomentMm4: (b * h ** 3) / 12,
      };
    });
    for (const depthUm of [0, 100, 333, 790]) {
      const [table, formula] = [sectionLeft({ shape: 'table', rows }, depthUm), sectionLeft(plate(2), depthUm)];
      for (const name of ['area', 'strength', 'stiffness'] as const) expect(table[name]).toBeCloseTo(formula[name], 3);
    }
  });

  it('names what the uncertainty comes from', () => {
    const loss = steady(0.5, [2, 12, 24]);
    const { driver } = supportWindow(loss, plate(2), { factor: 2, standardUncertainty: 0.4 }, asked(4, 0.5), 0.95);
    expect(driver?.source).toBe('localisation');
    expect(driver!.share).toBeGreaterThan(0.99);
  });

  it('never says inside of what is outside only because less is known', () => {
    const share = fc.double({ min: 0.05, max: 0.95, noNaN: true });
    const doubt = fc.double({ min: 0.001, max: 0.6, noNaN: true });
    fc.assert(
      fc.property(share, doubt, doubt, (strengthLeft, part, more) => {
        const of = (known: number, spread: number) =>
          supportWindow(
            steady(0.5, [2, 12, 24], known),
            plate(2),
            { factor: 1.3, standardUncertainty: spread },
            asked(12, strengthLeft),
            0.95,
          ).outcome;
        if (of(part, 0.05) === 'outside') expect(of(part + more, 0.05 + more)).not.toBe('inside');
      }),
      { numRuns: 25 },
    );
  });

  it.each([
    [UNIFORM, asked(0, 0.5), 0.95, 'holdWeeks'],
    [UNIFORM, asked(4, 1.2), 0.95, 'strengthLeft'],
    [UNIFORM, asked(4, 0.5, { goneByWeeks: 4 }), 0.95, 'goneByWeeks'],
    [{ factor: 0.5, standardUncertainty: 0 }, asked(4, 0.5), 0.95, 'localisation.factor'],
    [UNIFORM, asked(4, 0.5), 0.4, 'confidence'],
  ])('refuses %j with %j', (localisation, window, confidence, field) => {
    expect(() => supportWindow(steady(0.5, [2, 12]), plate(2), localisation, window, confidence)).toThrow(
      expect.objectContaining({ field }),
    );
  });
});
