import { AT_REST, after, type Motion, moved, turnedAround } from './motion.js';
import { rigidFit } from './rigid-fit.js';
import type { Surface } from './surface.js';

export interface Alignment {
  readonly motion: Motion;
  /** Root mean square of the deviations of the points that it was fitted to, in mm. */
  readonly residualMm: number;
  /** Points of the sample that found a surface within reach. */
  readonly points: number;
}

const ROUGH_STEPS = 8;
const FINE_STEPS = 40;
/** A step that takes away less of the sum of squares ends its stage. */
const ROUGH_GAIN = 0.02;
/** The last steps square what is left: behind one that gains so little no digit changes that is told. */
const FINE_GAIN = 1e-6;

/**
 * Lays points on a surface by least squares of their deviations: first by their nearest points, then by the distances along
 * the normals there, which is the same aim and comes to its end in few steps. What the surface does not hold fast, such as
 * the shift along a plane, stays as given.
 * @param sample three coordinates of each point, in mm.
 * @param within how far a surface may lie from a point.
 * @param start motion to begin with.
 * @param gain the least part of the sum of squares for which a further step is made.
 */
export function align(
  sample: Float64Array,
  surface: Surface,
  within: number,
  start: Motion = AT_REST,
  gain = FINE_GAIN,
): Alignment {
  let best = { motion: start, ...measured(sample, surface, within, start) };
  for (let step = 0; step < ROUGH_STEPS; step += 1) {
    const { from, to } = best;
    if (from.length < 9) break;
    const next = tried(sample, surface, within, after(best.motion, rigidFit(from, to)));
    if (!(next.cost < best.cost)) break;
    const isSettled = next.cost > best.cost * (1 - ROUGH_GAIN);
    best = next;
    if (isSettled) break;
  }
  for (let step = 0; step < FINE_STEPS; step += 1) {
    const move = stepAlongNormals(best);
    if (move === undefined) break;
    const next = tried(sample, surface, within, after(best.motion, move));
    if (!(next.cost < best.cost)) break;
    const isSettled = next.cost > best.cost * (1 - gain);
    best = next;
    if (isSettled) break;
  }
  return { motion: best.motion, residualMm: best.residualMm, points: best.from.length / 3 };
}

const tried = (sample: Float64Array, surface: Surface, within: number, motion: Motion) => ({
  motion,
  ...measured(sample, surface, within, motion),
});

interface Measured {
  /** Points as moved, with the nearest points of the surface and the normals there. */
  readonly from: Float64Array;
  readonly to: Float64Array;
  readonly normals: Float64Array;
  readonly residualMm: number;
  /** Mean square, where a point without surface counts as far as one could be: so no step gains by losing points. */
  readonly cost: number;
}

function measured(sample: Float64Array, surface: Surface, within: number, motion: Motion): Measured {
  const all = sample.length / 3;
  const points = new Float64Array(sample.length);
  moved(motion, sample, points, all);
  const [from, to, normals] = [
    new Float64Array(sample.length),
    new Float64Array(sample.length),
    new Float64Array(sample.length),
  ];
  let found = 0;
  let sum = 0;
  for (let at = 0; at < points.length; at += 3) {
    const [x, y, z] = [points[at]!, points[at + 1]!, points[at + 2]!];
    if (!surface.nearest(x, y, z, within)) continue;
    from.set([x, y, z], found * 3);
    to.set([surface.x, surface.y, surface.z], found * 3);
    normals.set([surface.nx, surface.ny, surface.nz], found * 3);
    sum += surface.signed * surface.signed;
    found += 1;
  }
  return {
    from: from.subarray(0, found * 3),
    to: to.subarray(0, found * 3),
    normals: normals.subarray(0, found * 3),
    residualMm: found === 0 ? Number.POSITIVE_INFINITY : Math.sqrt(sum / found),
    cost: (sum + (all - found) * within * within) / all,
  };
}

/** Directions that the normals hold to less than this beside the one that they hold best are left alone. */
const LOOSE = 1e-6;

/** The small motion that takes away the deviations along the normals, around the middle of the points. */
function stepAlongNormals({ from, to, normals }: Measured): Motion | undefined {
  const points = from.length / 3;
  if (points < 6) return undefined;
  const middle = [0, 0, 0];
  for (let at = 0; at < from.length; at += 1) middle[at % 3]! += from[at]! / points;
  let spread = 0;
  for (let at = 0; at < from.length; at += 1) spread += (from[at]! - middle[at % 3]!) ** 2 / points;
  // Turns are counted in the distance that they move a point at the mean radius, so that all six are of one size.
  const radius = Math.sqrt(spread) || 1;
  const matrix = Array.from({ length: 6 }, () => new Array<number>(6).fill(0));
  const right = new Array<number>(6).fill(0);
  for (let at = 0; at < from.length; at += 3) {
    const [x, y, z] = [0, 1, 2].map((k) => (from[at + k]! - middle[k]!) / radius) as [number, number, number];
    const [nx, ny, nz] = [normals[at]!, normals[at + 1]!, normals[at + 2]!];
    const row = [y * nz - z * ny, z * nx - x * nz, x * ny - y * nx, nx, ny, nz];
    const off = [0, 1, 2].reduce((sum, k) => sum + (to[at + k]! - from[at + k]!) * normals[at + k]!, 0);
    for (let i = 0; i < 6; i += 1) {
      right[i]! += row[i]! * off;
      for (let j = 0; j < 6; j += 1) matrix[i]![j]! += row[i]! * row[j]!;
    }
  }
  const [a, b, c, ...shift] = solved(matrix, right) as [number, number, number, number, number, number];
  const half = [a, b, c].map((turn) => turn / radius / 2) as [number, number, number];
  const length = Math.sqrt(1 + half[0] ** 2 + half[1] ** 2 + half[2] ** 2);
  const quaternion = [1 / length, half[0] / length, half[1] / length, half[2] / length] as const;
  return turnedAround(quaternion, middle, shift);
}

/** Solves a symmetric system by elimination with full pivots; an unknown without hold is 0. */
function solved(matrix: readonly (readonly number[])[], right: readonly number[]): number[] {
  const m = matrix.map((row, index) => [...row, right[index]!]);
  const size = right.length;
  const order: number[] = [];
  const largest = Math.max(...matrix.map((row, k) => Math.abs(row[k]!)));
  for (let step = 0; step < size; step += 1) {
    const rest = [...Array(size).keys()].filter((k) => !order.includes(k));
    const pivot = rest.reduce((best, k) => (Math.abs(m[k]![k]!) > Math.abs(m[best]![best]!) ? k : best), rest[0]!);
    if (!(Math.abs(m[pivot]![pivot]!) > LOOSE * largest)) break;
    order.push(pivot);
    for (const k of [...Array(size).keys()]) {
      if (k === pivot) continue;
      const factor = m[k]![pivot]! / m[pivot]![pivot]!;
      for (let column = 0; column <= size; column += 1) m[k]![column]! -= factor * m[pivot]![column]!;
    }
  }
  return [...Array(size).keys()].map((k) => (order.includes(k) ? m[k]![size]! / m[k]![k]! : 0));
}
