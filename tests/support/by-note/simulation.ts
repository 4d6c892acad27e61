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
  if (freedom > 100) {
    const p = 2 / (9 * freedom);
    return freedom * Math.max(0, 1 - p + Math.sqrt(p) * pairOf(uniform)[0]) ** 3;
  }
  return freedom % 2 === 0 ? sum : sum + pairOf(uniform)[0] ** 2;
}

interface Drawn {
  readonly least: number;
  readonly most: number;
}

/** The draws at the ranks that have 95 % of them on one side, and those nearer to the middle, within which chance has no say. */
export function endsOf(draws: readonly number[]): Drawn & { readonly near: Drawn } {
  const inOrder = [...draws].sort((a, b) => a - b);
  const at = (rank: number): Drawn => ({ least: inOrder[rank - 1]!, most: inOrder[inOrder.length - rank - 1]! });
  const rank = Math.round(0.05 * inOrder.length);
  return { ...at(rank), near: at(rank + Math.round(3 * Math.sqrt(0.0475 * inOrder.length))) };
}

/** How well a loss is known when what it is computed from is drawn, where that is more than first order by more than chance. */
export function drawnDoubt(
  simulation: Json,
  known: readonly (readonly [number, number])[],
  lossOf: (values: readonly number[]) => number,
  first: number,
): number {
  const uniform = uniformNumbers(simulation);
  const draws = Array.from({ length: simulation.draws }, () => {
    const pairs = Array.from({ length: Math.ceil(known.length / 2) }, () => pairOf(uniform)).flat();
    return lossOf(known.map(([value, doubt], i) => value + doubt * pairs[i]!));
  });
  const { near, ...ends } = endsOf(draws);
  const is = lossOf(known.map(([value]) => value));
  const doubt = ({ least, most }: Drawn) => Math.max(most - is, is - least) / 1.6448536;
  return doubt(near) > first ? doubt(ends) : first;
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
