/** |found − expected| relative to the expected value (absolute when that is 0). */
export function relativeError(found: number, expected: number): number {
  return Math.abs(found - expected) / (Math.abs(expected) || 1);
}

/** Uniform numbers in (0, 1) from a fixed seed: the generator known as mulberry32. */
export function uniformNumbers(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return (((mixed ^ (mixed >>> 14)) >>> 0) + 0.5) / 4294967296;
  };
}

/** Standard normal numbers from a fixed seed (Box and Muller). */
export function normalNumbers(seed: number): () => number {
  const uniform = uniformNumbers(seed);
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}
