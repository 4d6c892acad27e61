import type { Json } from './carried.js';

/** The simulation that the paragraph of support-window-met tells, from "simulation.json" of the lot file. */
export function uniformNumbers({ seed }: Json): () => number {
  // Whole numbers without end, so that no product is too long for a double.
  const modulus = [2147483579n, 2147483543n, 2147483423n, 2147483123n] as const;
  const times = [11600n, 47003n, 23000n, 33000n] as const;
  let x = seed.map((one: number) => BigInt(one));
  return () => {
    x = x.map((one: bigint, i: number) => (one * times[i]!) % modulus[i]!);
    const sum = x.reduce((all: number, one: bigint, i: number) => all + Number(one) / Number(modulus[i]), 0);
    return sum % 1;
  };
}

export function pairOf(uniform: () => number): [number, number] {
  const length = Math.sqrt(-2 * Math.log(uniform()));
  const angle = 2 * Math.PI * uniform();
  return [length * Math.cos(angle), length * Math.sin(angle)];
}

export function chiSquareOf(uniform: () => number, freedom: number): number {
  let sum = 0;
  for (let i = 0; i < Math.floor(freedom / 2); i++) sum += -2 * Math.log(uniform());
  return freedom % 2 === 0 ? sum : sum + pairOf(uniform)[0] ** 2;
}

/** The draws at the ranks that have 95 % of them on one side. */
export function endsOf(draws: readonly number[]): { readonly least: number; readonly most: number } {
  const inOrder = [...draws].sort((a, b) => a - b);
  const rank = Math.round(0.05 * inOrder.length);
  return { least: inOrder[rank - 1]!, most: inOrder[inOrder.length - rank - 1]! };
}

/** How well a loss is known when what it is computed from is drawn. */
export function drawnDoubt(
  simulation: Json,
  known: readonly (readonly [number, number])[],
  lossOf: (values: readonly number[]) => number,
): number {
  const uniform = uniformNumbers(simulation);
  const draws = Array.from({ length: simulation.draws }, () => {
    const pairs = Array.from({ length: Math.ceil(known.length / 2) }, () => pairOf(uniform)).flat();
    return lossOf(known.map(([value, doubt], i) => value + doubt * pairs[i]!));
  });
  const { least, most } = endsOf(draws);
  const is = lossOf(known.map(([value]) => value));
  return Math.max(most - is, is - least) / 1.6448536;
}

/** z1 to z5 of each draw. */
export function standardDraws(simulation: Json, freedom: number, ofFactor: number | undefined): number[][] {
  const uniform = uniformNumbers(simulation);
  const all = Array.from({ length: simulation.draws }, () => {
    const [z1, z2] = pairOf(uniform);
    const [z3, z4] = pairOf(uniform);
    return [z1, z2, z3, z4, pairOf(uniform)[0]];
  });
  for (const z of all) {
    const times = Math.sqrt(freedom / chiSquareOf(uniform, freedom));
    for (const i of [0, 1, 2]) z[i]! *= times;
  }
  if (ofFactor !== undefined) for (const z of all) z[4]! *= Math.sqrt(ofFactor / chiSquareOf(uniform, ofFactor));
  return all;
}
