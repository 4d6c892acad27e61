/** A rigid motion: three rows of four numbers, the rotation and behind it the shift in mm. */
export type Motion = readonly number[];

export const AT_REST: Motion = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0];

/** Moves points, three coordinates each, into another array. */
export function moved(motion: Motion, from: Float64Array, to: Float64Array, points: number): void {
  const [a, b, c, x, d, e, f, y, g, h, i, z] = motion as [
    ...[number, number, number, number, number, number, number, number, number, number, number, number],
  ];
  for (let at = 0; at < points * 3; at += 3) {
    const [px, py, pz] = [from[at]!, from[at + 1]!, from[at + 2]!];
    to[at] = a * px + b * py + c * pz + x;
    to[at + 1] = d * px + e * py + f * pz + y;
    to[at + 2] = g * px + h * py + i * pz + z;
  }
}

/** First the one, then the other. */
export function after(first: Motion, second: Motion): Motion {
  const cell = (row: number, column: number) =>
    [0, 1, 2].reduce(
      (sum, k) => sum + second[row * 4 + k]! * first[k * 4 + column]!,
      column === 3 ? second[row * 4 + 3]! : 0,
    );
  return Array.from({ length: 12 }, (_, at) => cell(Math.floor(at / 4), at % 4));
}

/** The rotation of a quaternion of length 1, around the place `[x, y, z]`, and then a shift. */
export function turnedAround(
  [w, x, y, z]: readonly [number, number, number, number],
  around: readonly number[],
  shift: readonly number[],
): Motion {
  const rows = [
    [w * w + x * x - y * y - z * z, 2 * (x * y - w * z), 2 * (x * z + w * y)],
    [2 * (x * y + w * z), w * w - x * x + y * y - z * z, 2 * (y * z - w * x)],
    [2 * (x * z - w * y), 2 * (y * z + w * x), w * w - x * x - y * y + z * z],
  ];
  return rows.flatMap((row, axis) => {
    const centre = row.reduce((sum, value, k) => sum + value * around[k]!, 0);
    return [...row, around[axis]! + shift[axis]! - centre];
  });
}

/** How far a matrix is from a motion: 0 for a rotation, 2 and more for a mirror or another scale. */
export function notRigid(motion: Motion): number {
  const row = (index: number) => motion.slice(index * 4, index * 4 + 3) as [number, number, number];
  const dot = (a: readonly number[], b: readonly number[]) => a.reduce((sum, value, k) => sum + value * b[k]!, 0);
  const [a, b, c] = [row(0), row(1), row(2)];
  const cross = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
  const lengths = [a, b, c].map((one) => Math.abs(dot(one, one) - 1));
  return Math.max(...lengths, Math.abs(dot(a, b)), Math.abs(dot(a, c)), Math.abs(dot(b, c)), 1 - dot(cross, c));
}
