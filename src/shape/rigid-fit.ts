import { type Motion, turnedAround } from './motion.js';

/**
 * The rigid motion that lays points on others with the least sum of squares, by the eigenvector of the largest eigenvalue of
 * a symmetric matrix of order 4 (Horn, J. Opt. Soc. Am. A 4 (1987) 629). It never mirrors.
 * @param from three coordinates of each point; @param to of its partner.
 */
export function rigidFit(from: Float64Array, to: Float64Array): Motion {
  const points = from.length / 3;
  const a = meanOf(from);
  const b = meanOf(to);
  const s = new Float64Array(9);
  for (let at = 0; at < points * 3; at += 3)
    for (let i = 0; i < 3; i += 1)
      for (let j = 0; j < 3; j += 1) s[i * 3 + j]! += (from[at + i]! - a[i]!) * (to[at + j]! - b[j]!);
  const [xx, xy, xz, yx, yy, yz, zx, zy, zz] = s as unknown as [
    ...[number, number, number, number, number, number, number, number, number],
  ];
  const quaternion = largestEigenvector([
    [xx + yy + zz, yz - zy, zx - xz, xy - yx],
    [yz - zy, xx - yy - zz, xy + yx, zx + xz],
    [zx - xz, xy + yx, yy - xx - zz, yz + zy],
    [xy - yx, zx + xz, yz + zy, zz - xx - yy],
  ]);
  return turnedAround(
    quaternion,
    a,
    b.map((value, axis) => value - a[axis]!),
  );
}

function meanOf(points: Float64Array): [number, number, number] {
  const sums: [number, number, number] = [0, 0, 0];
  for (let at = 0; at < points.length; at += 3) for (let k = 0; k < 3; k += 1) sums[k]! += points[at + k]!;
  return sums.map((sum) => (sum * 3) / points.length) as [number, number, number];
}

/** Rounds of rotations that make a matrix of this order diagonal to the last digit; seven were always enough. */
const ROUNDS = 50;

/** Of a symmetric matrix, by Jacobi's rotations. */
function largestEigenvector(matrix: readonly (readonly number[])[]): [number, number, number, number] {
  const m = matrix.map((row) => [...row]);
  const v = m.map((_, i) => m.map((_row, j) => (i === j ? 1 : 0)));
  for (let round = 0; round < ROUNDS; round += 1) {
    let off = 0;
    for (let p = 0; p < 3; p += 1) for (let q = p + 1; q < 4; q += 1) off += turn(m, v, p, q);
    if (off === 0) break;
  }
  const largest = [0, 1, 2, 3].reduce((best, k) => (m[k]![k]! > m[best]![best]! ? k : best), 0);
  return v.map((row) => row[largest]!) as [number, number, number, number];
}

/** One rotation in the plane of two axes. @returns 0 when nothing was left to turn away. */
function turn(m: number[][], v: number[][], p: number, q: number): number {
  const off = m[p]![q]!;
  if (Math.abs(off) <= Number.EPSILON * Math.sqrt(Math.abs(m[p]![p]! * m[q]![q]!)) || off === 0) return 0;
  const theta = (m[q]![q]! - m[p]![p]!) / (2 * off);
  const t = (theta < 0 ? -1 : 1) / (Math.abs(theta) + Math.sqrt(theta * theta + 1));
  const c = 1 / Math.sqrt(t * t + 1);
  const s = t * c;
  for (let k = 0; k < 4; k += 1) {
    const [kp, kq] = [m[k]![p]!, m[k]![q]!];
    m[k]![p] = c * kp - s * kq;
    m[k]![q] = s * kp + c * kq;
  }
  for (let k = 0; k < 4; k += 1) {
    const [pk, qk] = [m[p]![k]!, m[q]![k]!];
    m[p]![k] = c * pk - s * qk;
    m[q]![k] = s * pk + c * qk;
    const [kp, kq] = [v[k]![p]!, v[k]![q]!];
    v[k]![p] = c * kp - s * kq;
    v[k]![q] = s * kp + c * kq;
  }
  return Math.abs(off);
}
