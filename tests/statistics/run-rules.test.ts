import fc from 'fast-check';
import { findPattern, RUN_RULES, type RunRule } from '../../src/statistics/run-rules.js';
import { reference, titleOf } from '../reference/open.js';
import { refusedField, runRow } from './run-row.js';

/** Names of the rules in the reference catalogue. */
const NAMES: Readonly<Record<string, RunRule>> = {
  R1_one_beyond_3s: 'beyondThreeSigma',
  R2_nine_same_side: 'nineOneSide',
  R2w_eight_same_side: 'eightOneSide',
  R3_six_points_steady: 'sixSteady',
  R3b_seven_points_steady: 'sevenSteady',
  R4_fourteen_alternating: 'fourteenAlternating',
  R5_two_of_three_beyond_2s: 'twoOfThreeBeyondTwoSigma',
  R6_four_of_five_beyond_1s: 'fourOfFiveBeyondOneSigma',
  R7_fifteen_within_1s: 'fifteenWithinOneSigma',
  R8_eight_outside_1s: 'eightOutsideOneSigma',
};

/** The last `count` points up to and including i, or nothing when there are fewer. */
function lastPoints(z: readonly number[], i: number, count: number): readonly number[] | undefined {
  return i + 1 < count ? undefined : z.slice(i + 1 - count, i + 1);
}

function everyStep(points: readonly number[], holds: (step: number, index: number) => boolean): boolean {
  return points.slice(1).every((point, i) => holds(point - points[i]!, i));
}

/** Each rule as its definition reads, looking back from every point anew. */
const DEFINITIONS: Readonly<Record<RunRule, (z: readonly number[], i: number) => boolean>> = {
  beyondThreeSigma: (z, i) => z[i]! > 3 || z[i]! < -3,
  nineOneSide: (z, i) => oneSide(lastPoints(z, i, 9)),
  eightOneSide: (z, i) => oneSide(lastPoints(z, i, 8)),
  sixSteady: (z, i) => steady(lastPoints(z, i, 6)),
  sevenSteady: (z, i) => steady(lastPoints(z, i, 7)),
  fourteenAlternating: (z, i) => {
    const points = lastPoints(z, i, 14);
    if (!points) return false;
    const up = (step: number, index: number) => (index % 2 === 0 ? step > 0 : step < 0);
    const down = (step: number, index: number) => (index % 2 === 0 ? step < 0 : step > 0);
    return everyStep(points, up) || everyStep(points, down);
  },
  twoOfThreeBeyondTwoSigma: (z, i) => beyond(z, i, 2, 3, 2),
  fourOfFiveBeyondOneSigma: (z, i) => beyond(z, i, 4, 5, 1),
  fifteenWithinOneSigma: (z, i) => lastPoints(z, i, 15)?.every((point) => point > -1 && point < 1) ?? false,
  eightOutsideOneSigma: (z, i) => lastPoints(z, i, 8)?.every((point) => point < -1 || point > 1) ?? false,
};

function oneSide(points: readonly number[] | undefined): boolean {
  return points !== undefined && (points.every((point) => point > 0) || points.every((point) => point < 0));
}

function steady(points: readonly number[] | undefined): boolean {
  return points !== undefined && (everyStep(points, (step) => step > 0) || everyStep(points, (step) => step < 0));
}

function beyond(z: readonly number[], i: number, needed: number, window: number, sigma: number): boolean {
  const points = z.slice(Math.max(0, i + 1 - window), i + 1);
  const above = z[i]! > sigma && points.filter((point) => point > sigma).length >= needed;
  const below = z[i]! < -sigma && points.filter((point) => point < -sigma).length >= needed;
  return above || below;
}

describe('run rules', () => {
  it(titleOf(reference('A3-RULES-A')), () => {
    const item = reference('A3-RULES-A');
    const { signals } = runRow<{ signals: Record<string, number[]> }>('run-rules', { z: item.inputs.z });
    expect(Object.keys(signals)).toHaveLength(10);
    for (const { name, recomputed } of item.expected) expect([name, signals[NAMES[name]!]]).toEqual([name, recomputed]);
  });

  // Few distinct levels and drifting series, so that every pattern and points exactly on the zone limits do occur.
  const levels = fc.constantFrom(-3.5, -3, -2.5, -2, -1.5, -1, -0.5, 0, 0.5, 1, 1.5, 2, 2.5, 3, 3.5);
  const noise = fc.array(levels, { minLength: 1, maxLength: 60 });
  const drift = fc.array(fc.constantFrom(-0.5, 0.25, 0.5), { minLength: 1, maxLength: 40 }).map((steps) => {
    let sum = 0;
    return steps.map((step) => (sum += step));
  });
  const zigzag = fc
    .array(fc.double({ min: 0.1, max: 1, noNaN: true }), { minLength: 12, maxLength: 30 })
    .map((sizes) => sizes.map((size, i) => (i % 2 === 0 ? size : -size)));

  it.each(RUN_RULES)('%s agrees with its slow direct definition', (rule) => {
    fc.assert(
      fc.property(fc.oneof(noise, drift, zigzag), (z) => {
        const expected = z.flatMap((_, i) => (DEFINITIONS[rule](z, i) ? [i + 1] : []));
        expect(findPattern(z, rule)).toEqual(expected);
      }),
      { numRuns: 300 },
    );
  });

  it.each(RUN_RULES)('%s is the same upside down', (rule) => {
    fc.assert(
      fc.property(fc.oneof(noise, drift), (z) => {
        expect(
          findPattern(
            z.map((value) => -value),
            rule,
          ),
        ).toEqual(findPattern(z, rule));
      }),
    );
  });

  it.each([
    [{ z: [] }, 'z'],
    [{ z: [1], rules: [] }, 'rules'],
    [{ z: [1], rules: ['nelson1'] }, 'rules.0'],
    [{ z: [1, null] }, 'z.1'],
  ])('refuses %j', (input, field) => expect(refusedField('run-rules', input)).toBe(field));
});
