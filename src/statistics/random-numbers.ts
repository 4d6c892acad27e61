/** Multiplier, modulus over it, rest, and modulus of each of the four generators: multiplier × quotient + rest = modulus. */
const FOUR = [
  [11600, 185127, 10379, 2147483579],
  [47003, 45688, 10479, 2147483543],
  [23000, 93368, 19423, 2147483423],
  [33000, 65075, 8123, 2147483123],
] as const;

/** State of the four generators, each from 1 to its modulus less 1. */
export type RandomSeed = readonly [number, number, number, number];

/**
 * Uniform numbers above 0 and below 1, the same for a seed on every machine: four generators of which the fractions are
 * added. Source: Wichmann and Hill, Computational Statistics & Data Analysis 51 (2006) 1614, taken up by JCGM 101:2008, C.3.
 */
export function uniformFrom(seed: RandomSeed): () => number {
  let [a, b, c, d] = seed;
  const next = (state: number, [multiplier, quotient, rest, modulus]: (typeof FOUR)[number]): number => {
    // Each product stays below the modulus, so that whole numbers of 32 bits do.
    const moved = multiplier * (state % quotient) - rest * Math.floor(state / quotient);
    return moved < 0 ? moved + modulus : moved;
  };
  return () => {
    a = next(a, FOUR[0]);
    b = next(b, FOUR[1]);
    c = next(c, FOUR[2]);
    d = next(d, FOUR[3]);
    const sum = a / FOUR[0][3] + b / FOUR[1][3] + c / FOUR[2][3] + d / FOUR[3][3];
    const fraction = sum - Math.floor(sum);
    return fraction === 0 ? Number.MIN_VALUE : fraction;
  };
}

/** Two independent standard normal numbers from two uniform ones. Source: Box and Muller (1958), as in JCGM 101:2008, C.4. */
export function normalPair(uniform: () => number): readonly [number, number] {
  const [radius, angle] = [Math.sqrt(-2 * Math.log(uniform())), 2 * Math.PI * uniform()];
  return [radius * Math.cos(angle), radius * Math.sin(angle)];
}

/**
 * A chi-square number of whole degrees of freedom, at least one: of each two of them the sum of squares of two normal numbers,
 * which is −2 ln u; of one that is left over a normal number squared. Of more than 100 by the cube root, which is then normal to
 * less than a thousandth of the probability (Wilson and Hilferty 1931): the time does not grow with them.
 */
export function chiSquareFrom(uniform: () => number, degreesOfFreedom: number): number {
  if (degreesOfFreedom > MANY) {
    const part = 2 / (9 * degreesOfFreedom);
    return degreesOfFreedom * Math.max(0, 1 - part + normalPair(uniform)[0] * Math.sqrt(part)) ** 3;
  }
  let sum = 0;
  for (let pair = 2; pair <= degreesOfFreedom; pair += 2) sum -= 2 * Math.log(uniform());
  return degreesOfFreedom % 2 === 1 ? sum + normalPair(uniform)[0] ** 2 : sum;
}

/** Degrees of freedom up to which a chi-square number is summed. */
const MANY = 100;

/** The value at a place, from 1, in the order of size; moves the values. */
export function inOrder(values: Float64Array, place: number): number {
  let [low, high] = [0, values.length - 1];
  const wanted = place - 1;
  while (low < high) {
    const pivot = values[(low + high) >> 1]!;
    let [left, right] = [low, high];
    while (left <= right) {
      while (values[left]! < pivot) left += 1;
      while (values[right]! > pivot) right -= 1;
      if (left > right) break;
      [values[left], values[right]] = [values[right]!, values[left]!];
      left += 1;
      right -= 1;
    }
    if (wanted <= right) high = right;
    else if (wanted >= left) low = left;
    else break;
  }
  return values[wanted]!;
}
