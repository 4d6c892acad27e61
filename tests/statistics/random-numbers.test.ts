import { chiSquareUpper, normalCdf } from '../../src/statistics/distributions.js';
import {
  chiSquareFrom,
  inOrder,
  normalPair,
  type RandomSeed,
  uniformFrom,
} from '../../src/statistics/random-numbers.js';

const SEED: RandomSeed = [2031, 3011, 4093, 5077];
const many = <T>(count: number, make: () => T): T[] => Array.from({ length: count }, make);

/** Largest gap between what was drawn and its distribution, times √n: above 1.63 in one of a hundred (Kolmogorov and Smirnov). */
function gap(values: readonly number[], cdf: (value: number) => number): number {
  const sorted = [...values].sort((a, b) => a - b);
  const gaps = sorted.map((value, index) =>
    Math.max((index + 1) / sorted.length - cdf(value), cdf(value) - index / sorted.length),
  );
  return Math.max(...gaps) * Math.sqrt(sorted.length);
}

describe('random numbers', () => {
  it('are those of the recurrence as published, in whole numbers without end', () => {
    // Wichmann and Hill (2006): x ← a x mod m, and the fraction of the sum of the four x/m.
    const published = [
      [11600n, 2147483579n],
      [47003n, 2147483543n],
      [23000n, 2147483423n],
      [33000n, 2147483123n],
    ] as const;
    for (const seed of [SEED, [1, 1, 1, 1], [2147483578, 2147483542, 2147483422, 2147483122]] as RandomSeed[]) {
      const uniform = uniformFrom(seed);
      let states = seed.map(BigInt);
      for (let round = 0; round < 2000; round += 1) {
        states = states.map((state, index) => (state * published[index]![0]) % published[index]![1]);
        const sum = states.reduce((all, state, index) => all + Number(state) / Number(published[index]![1]), 0);
        expect(uniform()).toBe(sum - Math.floor(sum));
      }
    }
  });

  it('have moduli that are prime, and multipliers of which the powers reach every state', () => {
    // What the period of 2^121 rests on: a is a primitive root of the prime m, so that each generator has m − 1 states.
    for (const [a, m] of [
      [11600n, 2147483579n],
      [47003n, 2147483543n],
      [23000n, 2147483423n],
      [33000n, 2147483123n],
    ] as const) {
      const factors = primeFactors(m - 1n);
      expect(primeFactors(m)).toEqual([m]);
      for (const factor of factors) expect(power(a, (m - 1n) / factor, m)).not.toBe(1n);
    }
  });

  it('lie evenly between 0 and 1, each by itself and beside the next', () => {
    const uniform = uniformFrom(SEED);
    const values = many(100_000, uniform);
    expect(gap(values, (value) => value)).toBeLessThan(1.63);
    const cells = new Map<number, number>();
    for (let index = 0; index < values.length; index += 2) {
      const cell = 20 * Math.floor(20 * values[index]!) + Math.floor(20 * values[index + 1]!);
      cells.set(cell, (cells.get(cell) ?? 0) + 1);
    }
    const square = [...Array(400).keys()].reduce((sum, cell) => sum + ((cells.get(cell) ?? 0) - 125) ** 2 / 125, 0);
    expect(chiSquareUpper(square, 399)).toBeGreaterThan(0.001);
  });

  it('become normal ones, and chi-square ones of even and odd degrees of freedom', () => {
    const uniform = uniformFrom(SEED);
    expect(gap(many(20_000, () => normalPair(uniform)).flat(), normalCdf)).toBeLessThan(1.63);
    for (const degrees of [1, 2, 3, 8, 41, 100, 101, 1000]) {
      const drawn = many(20_000, () => chiSquareFrom(uniform, degrees));
      expect(gap(drawn, (value) => 1 - chiSquareUpper(value, degrees))).toBeLessThan(1.63);
    }
  });

  it('become a chi-square one of a million degrees of freedom by as many as one of a hundred', () => {
    const drawnFor = (degrees: number) => {
      const uniform = uniformFrom(SEED);
      let count = 0;
      const value = chiSquareFrom(() => {
        count += 1;
        return uniform();
      }, degrees);
      return { count, value };
    };
    expect(drawnFor(1e6).count).toBeLessThanOrEqual(50);
    // Six standard deviations of a chi-square number, √(2 n).
    expect(Math.abs(drawnFor(1e6).value - 1e6)).toBeLessThan(6 * Math.sqrt(2e6));
  });

  it('are the same from one seed, and others from another', () => {
    const of = (seed: RandomSeed) => many(5, uniformFrom(seed));
    expect(of(SEED)).toEqual(of(SEED));
    expect(of(SEED)).not.toEqual(of([2031, 3011, 4093, 5078]));
  });

  it('are found by their rank without putting all in order', () => {
    const uniform = uniformFrom(SEED);
    for (const count of [1, 2, 7, 1000]) {
      const values = many(count, () => Math.floor(50 * uniform()));
      const sorted = [...values].sort((a, b) => a - b);
      for (const place of [1, Math.ceil(count / 3), count]) {
        expect(inOrder(Float64Array.from(values), place)).toBe(sorted[place - 1]);
      }
    }
  });
});

function power(base: bigint, exponent: bigint, modulus: bigint): bigint {
  let [result, square] = [1n, base];
  for (let left = exponent; left > 0n; left /= 2n) {
    if (left % 2n === 1n) result = (result * square) % modulus;
    square = (square * square) % modulus;
  }
  return result;
}

function primeFactors(value: bigint): bigint[] {
  const factors: bigint[] = [];
  let rest = value;
  for (let factor = 2n; factor * factor <= rest; factor += 1n) {
    if (rest % factor !== 0n) continue;
    factors.push(factor);
    while (rest % factor === 0n) rest /= factor;
  }
  return rest > 1n ? [...factors, rest] : factors;
}
