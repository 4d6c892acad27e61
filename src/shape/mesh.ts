/** A surface of triangles that share their corners. */
export interface Mesh {
  /** Three coordinates of each corner. */
  readonly corners: Float64Array;
  /** Three corners of each triangle, in the order that shows its outer side. */
  readonly triangles: Uint32Array;
}

/** Joins corners of triangles that lie in the same place, to the last digit of the file. */
export function meshOf(coordinates: Float64Array): Mesh {
  const count = coordinates.length / 3;
  let slots = 1024;
  while (slots < count * 2) slots *= 2;
  const table = new Int32Array(slots).fill(-1);
  const corners = new Float64Array(coordinates.length);
  const triangles = new Uint32Array(count);
  let known = 0;
  for (let index = 0; index < count; index += 1) {
    // Plus zero: there are two zeros, and they are one place.
    const [x, y, z] = [coordinates[index * 3]! + 0, coordinates[index * 3 + 1]! + 0, coordinates[index * 3 + 2]! + 0];
    let slot = placeIn(slots, x, y, z);
    for (;;) {
      const corner = table[slot]!;
      if (corner < 0) break;
      const at = corner * 3;
      if (corners[at] === x && corners[at + 1] === y && corners[at + 2] === z) break;
      slot = (slot + 1) & (slots - 1);
    }
    if (table[slot]! < 0) {
      corners.set([x, y, z], known * 3);
      table[slot] = known;
      known += 1;
    }
    triangles[index] = table[slot]!;
  }
  return { corners: corners.slice(0, known * 3), triangles };
}

const bits = new DataView(new ArrayBuffer(24));

function placeIn(slots: number, x: number, y: number, z: number): number {
  bits.setFloat64(0, x);
  bits.setFloat64(8, y);
  bits.setFloat64(16, z);
  let mixed = 0;
  for (let at = 0; at < 24; at += 4) {
    mixed = Math.imul(mixed ^ bits.getInt32(at), 0x9e3779b1);
    mixed ^= mixed >>> 15;
  }
  return (mixed >>> 0) & (slots - 1);
}

/** Smallest and largest coordinate along each axis, of all points: `[x0, y0, z0, x1, y1, z1]`. */
export function extentOf(coordinates: Float64Array, points = coordinates.length / 3): number[] {
  const extent = [Infinity, Infinity, Infinity, -Infinity, -Infinity, -Infinity];
  for (let index = 0; index < points * 3; index += 1) {
    const axis = index % 3;
    extent[axis] = Math.min(extent[axis]!, coordinates[index]!);
    extent[axis + 3] = Math.max(extent[axis + 3]!, coordinates[index]!);
  }
  return extent;
}

/** From one end of an extent to the other. */
export const diagonalOf = (extent: readonly number[]): number =>
  Math.hypot(extent[3]! - extent[0]!, extent[4]! - extent[1]!, extent[5]! - extent[2]!);

/** The same mesh with every coordinate times a factor. */
export const scaled = ({ corners, triangles }: Mesh, factor: number): Mesh => ({
  corners: factor === 1 ? corners : corners.map((value) => value * factor),
  triangles,
});

/** The extent of several. */
export const joined = (extents: readonly (readonly number[])[]): number[] =>
  [0, 1, 2, 3, 4, 5].map((k) => {
    const values = extents.map((extent) => extent[k]!);
    return values.reduce((a, b) => (k < 3 ? Math.min(a, b) : Math.max(a, b)));
  });
