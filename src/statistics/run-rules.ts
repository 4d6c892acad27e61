import { RUN_RULES, type RunRule } from '../base/run-rule-names.js';

export { RUN_RULES, type RunRule };

/** What each rule looks for, in words. */
export const RUN_RULE_MEANING: Readonly<Record<RunRule, string>> = {
  beyondThreeSigma: 'one point with |z| > 3',
  nineOneSide: 'nine points in a row on one side of the centre (a point on the centre ends the row)',
  eightOneSide: 'eight points in a row on one side of the centre',
  sixSteady: 'six points in a row, each higher than the one before, or each lower (five steps)',
  sevenSteady: 'seven points in a row, each higher, or each lower (six steps)',
  fourteenAlternating: 'fourteen points in a row going up and down in turn (thirteen steps)',
  twoOfThreeBeyondTwoSigma: 'a point with z > 2 that is at least the second such among the last three; or z < −2',
  fourOfFiveBeyondOneSigma: 'a point with z > 1 that is at least the fourth such among the last five; or z < −1',
  fifteenWithinOneSigma: 'fifteen points in a row with |z| < 1',
  eightOutsideOneSigma: 'eight points in a row with |z| > 1, on either side',
};

/** How many points each pattern needs, the last of them the one that is found. */
export const RUN_RULE_LENGTH: Readonly<Record<RunRule, number>> = {
  beyondThreeSigma: 1,
  nineOneSide: 9,
  eightOneSide: 8,
  sixSteady: 6,
  sevenSteady: 7,
  fourteenAlternating: 14,
  twoOfThreeBeyondTwoSigma: 3,
  fourOfFiveBeyondOneSigma: 5,
  fifteenWithinOneSigma: 15,
  eightOutsideOneSigma: 8,
};

const DETECTORS: Readonly<Record<RunRule, (z: readonly number[]) => number[]>> = {
  beyondThreeSigma: (z) => rowsOf(z, 1, (i) => Math.abs(z[i]!) > 3),
  nineOneSide: (z) => oneSide(z, 9),
  eightOneSide: (z) => oneSide(z, 8),
  sixSteady: (z) => steady(z, 6),
  sevenSteady: (z) => steady(z, 7),
  fourteenAlternating: (z) => alternating(z, 14),
  twoOfThreeBeyondTwoSigma: (z) => someOfLast(z, { needed: 2, window: 3, sigma: 2 }),
  fourOfFiveBeyondOneSigma: (z) => someOfLast(z, { needed: 4, window: 5, sigma: 1 }),
  fifteenWithinOneSigma: (z) => rowsOf(z, 15, (i) => Math.abs(z[i]!) < 1),
  eightOutsideOneSigma: (z) => rowsOf(z, 8, (i) => Math.abs(z[i]!) > 1),
};

/**
 * Indexes (from 1) of the last point of each place where the rule's pattern is complete, in standardised values
 * z = (value − centre) / sigma. All comparisons are strict: a point exactly on a zone limit lies in neither zone.
 * Source: Western Electric, Statistical Quality Control Handbook (1956); Nelson, J. Quality Technology 16 (1984).
 */
export function findPattern(z: readonly number[], rule: RunRule): number[] {
  return DETECTORS[rule](z);
}

/** Ends of rows of `length` or more neighbouring points that all satisfy the condition. */
function rowsOf(z: readonly number[], length: number, holds: (index: number) => boolean): number[] {
  const found: number[] = [];
  let row = 0;
  for (let i = 0; i < z.length; i++) {
    row = holds(i) ? row + 1 : 0;
    if (row >= length) found.push(i + 1);
  }
  return found;
}

function oneSide(z: readonly number[], length: number): number[] {
  const above = rowsOf(z, length, (i) => z[i]! > 0);
  const below = rowsOf(z, length, (i) => z[i]! < 0);
  return merged(above, below);
}

/** `length` points make `length − 1` steps in one direction. */
function steady(z: readonly number[], length: number): number[] {
  const rising = rowsOf(z, length - 1, (i) => i > 0 && z[i]! > z[i - 1]!);
  const falling = rowsOf(z, length - 1, (i) => i > 0 && z[i]! < z[i - 1]!);
  return merged(rising, falling);
}

function alternating(z: readonly number[], length: number): number[] {
  const found: number[] = [];
  let steps = 0;
  for (let i = 1; i < z.length; i++) {
    const step = Math.sign(z[i]! - z[i - 1]!);
    const before = i > 1 ? Math.sign(z[i - 1]! - z[i - 2]!) : 0;
    if (step === 0) steps = 0;
    else steps = step === -before ? steps + 1 : 1;
    if (steps >= length - 1) found.push(i + 1);
  }
  return found;
}

interface SomeOfLast {
  readonly needed: number;
  readonly window: number;
  readonly sigma: number;
}

/** The point itself must be beyond the zone limit; at the start the window holds fewer points. */
function someOfLast(z: readonly number[], { needed, window, sigma }: SomeOfLast): number[] {
  const found: number[] = [];
  for (let i = 0; i < z.length; i++) {
    const side = Math.sign(z[i]!);
    if (!(side * z[i]! > sigma)) continue;
    const last = z.slice(Math.max(0, i - window + 1), i + 1);
    if (last.filter((value) => side * value > sigma).length >= needed) found.push(i + 1);
  }
  return found;
}

function merged(first: readonly number[], second: readonly number[]): number[] {
  return [...first, ...second].sort((a, b) => a - b);
}
