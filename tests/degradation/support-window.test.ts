import fc from 'fast-check';
import { lossOverTime } from '../../src/degradation/loss-over-time.js';
import { type LoadSection, sectionLeft } from '../../src/degradation/section-left.js';
import { supportWindow } from '../../src/degradation/support-window.js';
import { tQuantile } from '../../src/statistics/student-t.js';
import { normalNumbers } from '../support/numbers.js';

const UNIFORM = { factor: 1, standardUncertainty: 0 };
/** A steady loss of specimens, in mm of 365 days, each measured to a part of itself; three of a duration spread by `spread`. */
const losses = (mmPerYear: number, weeks: readonly number[], part: number, spread = 0.001) =>
  weeks.flatMap((week) =>
    [1 - spread, 1, 1 + spread].map((factor) => {
      const depthUm = (1000 * mmPerYear * week * 7) / 365;
      return { hours: 168 * week, depthUm: factor * depthUm, standardUncertaintyUm: part * depthUm };
    }),
  );
const steady = (...given: [mmPerYear: number, weeks: readonly number[], part?: number, spread?: number]) =>
  lossOverTime(losses(given[0], given[1], given[2] ?? 0.001, given[3]));
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
    const loss = steady(0.5, [2, 12, 24], 1e-6, 1e-6);
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

  describe('says nothing that it does not know', () => {
    const single = losses(0.5, [2, 12, 24], 0.001).filter((_, index) => index % 3 === 1);

    it('cannot be decided where no duration has two specimens, whatever was measured', () => {
      for (const strengthLeft of [0.1, 0.99]) {
        expect(supportWindow(lossOverTime(single), plate(2), UNIFORM, asked(12, strengthLeft), 0.95)).toMatchObject({
          ...{ outcome: 'cannot be decided', unknown: ['specimens'], marginWeeks: -12 },
          strength: { lower: 0, upper: 1 },
        });
      }
    });

    it('cannot be decided where pits were measured on one specimen', () => {
      const one = { factor: 1.5, standardUncertainty: 0, degreesOfFreedom: 0 };
      expect(supportWindow(steady(0.5, [2, 12, 24]), plate(2), one, asked(12, 0.1), 0.95)).toMatchObject({
        ...{ outcome: 'cannot be decided', unknown: ['localisation'] },
      });
    });

    it('is gone only when the mean loss has taken all, however deep its pits', () => {
      // 1 mm from both faces takes 26.07 weeks at 1 mm/y; pits of three times the depth are through after 9.
      const window = asked(2, 0.1, { goneByWeeks: 20 });
      const pitted = { factor: 3, standardUncertainty: 0.1 };
      expect(supportWindow(steady(1, [4, 20, 30]), plate(1), pitted, window, 0.95).gone).toBe('outside');
    });

    it('does not take a table that ends for a section that is gone', () => {
      const row = (depthUm: number, left: number) => ({
        ...{ depthUm, areaMm2: left, sectionModulusMm3: left, secondMomentMm4: left },
      });
      const gone = (rows: Parameters<typeof sectionLeft>[0] & { shape: 'table' }) =>
        supportWindow(steady(1, [4, 20, 30]), rows, UNIFORM, asked(2, 0.1, { goneByWeeks: 30 }), 0.95).gone;
      expect(gone({ shape: 'table', rows: [row(0, 10), row(200, 5)] })).toBe('cannot be decided');
      expect(gone({ shape: 'table', rows: [row(0, 10), row(200, 0)] })).toBe('inside');
    });
  });

  describe('its interval', () => {
    // Half of the width of what is left of a plate, back to the depth: D = size (1 − √strength) / 2.
    const halfUm = ({ strength }: { strength?: { lower: number; upper: number } }, sizeMm: number) => {
      const depth = (left: number) => 500 * sizeMm * (1 - Math.sqrt(left));
      return (depth(strength!.lower) - depth(strength!.upper)) / 2;
    };

    it("takes Student's t for what few specimens tell", () => {
      // Two specimens at each of two durations: two degrees of freedom, t = 2.919986 (JCGM 100:2008, table G.2: 2.92 at 90 % two-sided).
      const given = [336, 2016].flatMap((hours) =>
        [0.95, 1.05].map((factor) => ({ hours, depthUm: factor * 0.05 * hours, standardUncertaintyUm: 0 })),
      );
      const loss = lossOverTime(given);
      const [{ curveUm, specimensUm }] = [loss.at(2016)!];
      expect(loss.spread.degreesOfFreedom).toBe(2);
      const found = halfUm(supportWindow(loss, plate(2), UNIFORM, asked(12, 0.1), 0.95), 2);
      expect(found).toBeCloseTo(2.919986 * Math.hypot(curveUm, specimensUm), 4);
    });

    it('is never narrower than that of Welch and Satterthwaite, which a further source can make narrower', () => {
      const few = losses(0.5, [12], 0, 0.05).slice(0, 2);
      const width = (measuring: number) => {
        const loss = lossOverTime(few.map((one) => ({ ...one, standardUncertaintyUm: measuring })));
        const { curveUm, specimensUm } = loss.at(2016)!;
        const spread = Math.hypot(curveUm, specimensUm);
        const together = Math.hypot(spread, measuring);
        // G.2b: the degrees of freedom of the spread by the share of its variance squared; measuring has no end of them.
        const freedom = loss.spread.degreesOfFreedom / (spread / together) ** 4;
        const found = halfUm(supportWindow(loss, plate(2), UNIFORM, asked(12, 0.1), 0.95), 2);
        return { found, satterthwaite: tQuantile(0.95, freedom) * together };
      };
      const widths = [0, 1, 3, 6, 12].map(width);
      for (const [index, { found, satterthwaite }] of widths.entries()) {
        expect(found).toBeGreaterThan(satterthwaite * (1 - 1e-9));
        expect(found).toBeGreaterThan((widths[index - 1]?.found ?? 0) * (1 - 1e-9));
      }
      expect(widths[3]!.satterthwaite).toBeLessThan(widths[0]!.satterthwaite);
    });

    // JCGM 101:2008, 7: loss and factor drawn, deepest attack and what it leaves computed for each.
    it.each([
      [0.02, 0.1],
      [0.1, 0.3],
      [0.25, 0.5],
    ])('holds what a simulation gives: loss measured to %d of itself, factor 1.5 ± %d', (part, spread) => {
      const loss = steady(0.5, [2, 12, 24], part, 1e-6);
      const { depthUm, standardUncertaintyUm } = loss.at(2016)!;
      const normal = normalNumbers(20_261_130);
      const draws = Array.from({ length: 40_000 }, () => {
        const deep = (depthUm + standardUncertaintyUm * normal()) * Math.max(1, 1.5 + spread * normal());
        return sectionLeft(plate(2), Math.max(0, deep)).strength;
      }).sort((a, b) => a - b);
      const { strength } = supportWindow(
        loss,
        plate(2),
        { factor: 1.5, standardUncertainty: spread },
        asked(12, 0.1),
        0.95,
      );
      const [low, high] = [draws[2000]!, draws[38_000]!];
      expect(strength!.lower).toBeLessThan(low + 0.02);
      expect(strength!.upper).toBeGreaterThan(high - 0.01);
      expect(strength!.upper - strength!.lower).toBeLessThan(1.35 * (high - low));
    });
  });

  it('less known turns neither outside into inside, nor what could not be decided', () => {
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
        const [before, after] = [of(part, 0.05), of(part + more, 0.05 + more)];
        if (before !== 'inside') expect(after).not.toBe('inside');
        if (before !== 'outside') expect(after).not.toBe('outside');
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
