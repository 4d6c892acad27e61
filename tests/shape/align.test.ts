import { Matrix, SingularValueDecomposition } from 'ml-matrix';
import { align } from '../../src/shape/align.js';
import { AT_REST, after, type Motion, moved, notRigid, turnedAround } from '../../src/shape/motion.js';
import { rigidFit } from '../../src/shape/rigid-fit.js';
import { Surface } from '../../src/shape/surface.js';
import { box, pointsOn, sequence, torus, wedge } from '../support/shapes.js';

/** A turn by so many degrees around an axis through a place, and then a shift. */
function turn(degrees: number, axis: readonly number[], around: readonly number[], shift: readonly number[]): Motion {
  const half = (degrees * Math.PI) / 360;
  const length = Math.hypot(...axis);
  const [x, y, z] = axis.map((value) => (value / length) * Math.sin(half)) as [number, number, number];
  return turnedAround([Math.cos(half), x, y, z], around, shift);
}

const movedBy = (motion: Motion, points: Float64Array): Float64Array => {
  const to = new Float64Array(points.length);
  moved(motion, points, to, points.length / 3);
  return to;
};

const largestGap = (a: ArrayLike<number>, b: ArrayLike<number>): number =>
  Math.max(...Array.from(a, (value, at) => Math.abs(value - b[at]!)));

/** The closed form by singular values (Kabsch, Acta Cryst. A 32 (1976) 922; A 34 (1978) 827). */
function bySingularValues(from: Float64Array, to: Float64Array): number[] {
  const rows = (points: Float64Array) =>
    new Matrix(Array.from({ length: points.length / 3 }, (_, k) => [...points.subarray(k * 3, k * 3 + 3)]));
  const [p, q] = [rows(from), rows(to)];
  const [a, b] = [p.mean('column'), q.mean('column')];
  const h = p.subRowVector(a).transpose().mmul(q.subRowVector(b));
  const { leftSingularVectors: u, rightSingularVectors: v } = new SingularValueDecomposition(h);
  const turnOf = (sign: number) => v.mmul(Matrix.diag([1, 1, sign])).mmul(u.transpose());
  const proper = turnOf(1);
  const isProper = new SingularValueDecomposition(proper) && det(proper) > 0;
  const r = isProper ? proper : turnOf(-1);
  return [0, 1, 2].flatMap((k) => [...r.getRow(k), b[k]! - [0, 1, 2].reduce((sum, j) => sum + r.get(k, j) * a[j]!, 0)]);
}

function det(m: Matrix): number {
  const g = (i: number, j: number) => m.get(i, j);
  return [0, 1, 2].reduce(
    (sum, k) => sum + g(0, k) * (g(1, (k + 1) % 3) * g(2, (k + 2) % 3) - g(1, (k + 2) % 3) * g(2, (k + 1) % 3)),
    0,
  );
}

describe('the rigid motion between pairs of points', () => {
  const random = sequence(5);
  const points = Float64Array.from({ length: 60 }, () => random() * 50);

  it.each([1, 45, 90, 179.9, 180])('is found exactly after a turn by %s degrees', (degrees) => {
    const motion = turn(degrees, [1, -2, 0.5], [3, 4, 5], [10, -20, 30]);
    expect(largestGap(rigidFit(points, movedBy(motion, points)), motion)).toBeLessThan(1e-12 * 100);
  });

  it('agrees with the closed form by singular values, with noise and where a mirror would fit better', () => {
    for (let trial = 0; trial < 20; trial += 1) {
      const motion = turn(random() * 360, [random() - 0.5, random() - 0.5, 1], [1, 2, 3], [random(), 0, -random()]);
      const signs = trial % 2 === 0 ? [1, 1, 1] : [1, -1, 1];
      const to = movedBy(motion, points).map((value, at) => value * signs[at % 3]! + random() * 2);
      const fit = rigidFit(points, to);
      expect(largestGap(fit, bySingularValues(points, to))).toBeLessThan(1e-9);
      expect(notRigid(fit)).toBeLessThan(1e-12);
    }
  });

  it('joins motions in their order, and tells what is no rigid motion', () => {
    const [first, second] = [turn(30, [0, 0, 1], [1, 0, 0], [5, 0, 0]), turn(50, [1, 1, 0], [0, 2, 0], [0, 1, 0])];
    expect(largestGap(movedBy(after(first, second), points), movedBy(second, movedBy(first, points)))).toBeLessThan(
      1e-12,
    );
    expect(notRigid(AT_REST)).toBe(0);
    expect(notRigid([-1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0])).toBe(2);
    expect(notRigid(AT_REST.map((value) => value * 25.4))).toBeGreaterThan(1);
    expect(notRigid([1, 0.5, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0])).toBeGreaterThan(0.2);
  });
});

describe('points laid on a surface', () => {
  it.each([
    ['a wedge', wedge()],
    ['a block', box(40, 25, 10)],
  ])('come back to %s from a turn and a shift', (_name, mesh) => {
    const surface = new Surface(mesh);
    const points = pointsOn(mesh, 400, () => 0);
    const away = movedBy(turn(4, [1, 2, 3], [20, 10, 5], [0.5, -0.4, 0.3]), points);
    const { motion, residualMm } = align(away, surface, 50);
    expect(residualMm).toBeLessThan(1e-9);
    expect(largestGap(movedBy(motion, away), points)).toBeLessThan(1e-6);
    expect(notRigid(motion)).toBeLessThan(1e-12);
  });

  it('come to the least sum of squares, with the residual of the noise', () => {
    const mesh = wedge();
    const surface = new Surface(mesh);
    const random = sequence(9);
    const points = pointsOn(mesh, 2000, () => (random() - 0.5) * 0.2);
    const { motion, residualMm } = align(points, surface, 50);
    // The mean square of what is even between -0.1 and 0.1, less six of two thousand degrees of freedom.
    expect(residualMm).toBeCloseTo(0.2 / Math.sqrt(12), 2);
    for (const [shift, degrees] of [
      [[0.01, 0, 0], 0],
      [[0, 0.01, 0], 0],
      [[0, 0, 0.01], 0],
      [[0, 0, 0], 0.05],
    ] as const) {
      const other = movedBy(after(motion, turn(degrees, [0, 0, 1], [10, 6, 2], shift)), points);
      const squares = (all: Float64Array) => {
        let sum = 0;
        for (let at = 0; at < all.length; at += 3) {
          surface.nearest(all[at]!, all[at + 1]!, all[at + 2]!, 50);
          sum += surface.signed ** 2;
        }
        return sum;
      };
      expect(squares(other)).toBeGreaterThan(squares(movedBy(motion, points)));
    }
  });

  it('stay where the surface does not hold them: around the axis of a ring', () => {
    const mesh = torus(30, 8, 96, 48);
    const points = pointsOn(mesh, 500, () => 0);
    const { motion, residualMm } = align(
      movedBy(turn(0, [0, 0, 1], [0, 0, 0], [0.2, 0.1, 0.3]), points),
      new Surface(mesh),
      20,
    );
    expect(residualMm).toBeLessThan(0.01);
    expect([motion[3]!, motion[7]!, motion[11]!].map((value) => Number(value.toFixed(1)))).toEqual([-0.2, -0.1, -0.3]);
  });
});
