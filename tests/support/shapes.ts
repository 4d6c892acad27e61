import fs from 'node:fs';
import path from 'node:path';
import type { Mesh } from '../../src/shape/mesh.js';

/** Surfaces and clouds of points for tests of shape, and the files that scanners and design programs write of them. */

/** A numbered sequence between 0 and 1, the same on every machine. */
export function sequence(seed = 1): () => number {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
}

type Place = readonly [number, number, number];

/** A closed grid of `m` by `n` squares, by where each corner lies. */
function ring(m: number, n: number, at: (u: number, v: number) => Place): Mesh {
  const corners = new Float64Array(m * n * 3);
  const triangles: number[] = [];
  for (let i = 0; i < m; i += 1)
    for (let j = 0; j < n; j += 1) {
      corners.set(at((2 * Math.PI * i) / m, (2 * Math.PI * j) / n), (i * n + j) * 3);
      const [a, b] = [i * n + j, ((i + 1) % m) * n + j];
      const [c, d] = [((i + 1) % m) * n + ((j + 1) % n), i * n + ((j + 1) % n)];
      triangles.push(a, b, c, a, c, d);
    }
  return { corners, triangles: Uint32Array.from(triangles) };
}

/** A ring of these radii around the z axis. */
export const torus = (major: number, minor: number, m = 48, n = 24): Mesh =>
  ring(m, n, (u, v) => [
    (major + minor * Math.cos(v)) * Math.cos(u),
    (major + minor * Math.cos(v)) * Math.sin(u),
    minor * Math.sin(v),
  ]);

/** Squares of a tube between two rows of corners, and its ends closed by a corner each. */
function capped(rows: readonly (readonly Place[])[], low: Place, high: Place): Mesh {
  const n = rows[0]!.length;
  const corners = [...rows.flat(), low, high];
  const triangles: number[] = [];
  const [bottom, top] = [corners.length - 2, corners.length - 1];
  for (let j = 0; j < n; j += 1) {
    const k = (j + 1) % n;
    triangles.push(bottom, k, j, top, (rows.length - 1) * n + j, (rows.length - 1) * n + k);
    for (let i = 0; i + 1 < rows.length; i += 1)
      triangles.push(i * n + j, i * n + k, (i + 1) * n + k, i * n + j, (i + 1) * n + k, (i + 1) * n + j);
  }
  return { corners: Float64Array.from(corners.flat()), triangles: Uint32Array.from(triangles) };
}

const circle = (n: number, radius: number, z: number): Place[] =>
  Array.from({ length: n }, (_, j) => {
    const angle = (2 * Math.PI * j) / n;
    return [radius * Math.cos(angle), radius * Math.sin(angle), z];
  });

export const sphere = (radius: number, m = 24, n = 48): Mesh =>
  capped(
    Array.from({ length: m - 1 }, (_, i) => {
      const angle = (Math.PI * (i + 1)) / m;
      return circle(n, radius * Math.sin(angle), -radius * Math.cos(angle));
    }),
    [0, 0, -radius],
    [0, 0, radius],
  );

export const cylinder = (radius: number, height: number, n = 64): Mesh =>
  capped([circle(n, radius, 0), circle(n, radius, height)], [0, 0, 0], [0, 0, height]);

export function box(x: number, y: number, z: number): Mesh {
  const corners = [0, 1, 2, 3, 4, 5, 6, 7].flatMap((k) => [k & 1 ? x : 0, k & 2 ? y : 0, k & 4 ? z : 0]);
  const sides = [
    0, 2, 3, 0, 3, 1, 4, 5, 7, 4, 7, 6, 0, 1, 5, 0, 5, 4, 2, 6, 7, 2, 7, 3, 0, 4, 6, 0, 6, 2, 1, 3, 7, 1, 7, 5,
  ];
  return { corners: Float64Array.from(corners), triangles: Uint32Array.from(sides) };
}

/** A part that is not the same mirrored, nor turned by a half: a corner cut from a block, with three unlike edges. */
export const wedge = (): Mesh => ({
  corners: Float64Array.from([0, 0, 0, 40, 0, 0, 0, 25, 0, 0, 0, 10]),
  triangles: Uint32Array.from([0, 2, 1, 0, 1, 3, 0, 3, 2, 1, 2, 3]),
});

/** Nine coordinates of each triangle. */
export const soupOf = ({ corners, triangles }: Mesh): Float64Array =>
  Float64Array.from([...triangles].flatMap((corner) => [...corners.subarray(corner * 3, corner * 3 + 3)]));

/** Points over the triangles of a mesh, by area, each `off` from its triangle along the outer normal. */
export function pointsOn(mesh: Mesh, count: number, off: (index: number) => number, random = sequence()): Float64Array {
  const soup = soupOf(mesh);
  const points = new Float64Array(count * 3);
  const faces = soup.length / 9;
  const areas: number[] = [];
  const normals: number[][] = [];
  for (let face = 0; face < faces; face += 1) {
    const [a, b, c] = [0, 1, 2].map((k) => [...soup.subarray(face * 9 + k * 3, face * 9 + k * 3 + 3)]) as number[][];
    const u = b!.map((value, k) => value - a![k]!);
    const v = c!.map((value, k) => value - a![k]!);
    const n = [u[1]! * v[2]! - u[2]! * v[1]!, u[2]! * v[0]! - u[0]! * v[2]!, u[0]! * v[1]! - u[1]! * v[0]!];
    const length = Math.hypot(...n);
    areas.push((areas.at(-1) ?? 0) + length);
    normals.push(n.map((value) => value / length));
  }
  for (let index = 0; index < count; index += 1) {
    const wanted = random() * areas.at(-1)!;
    const face = areas.findIndex((area) => area >= wanted);
    let [s, t] = [random(), random()];
    if (s + t > 1) [s, t] = [1 - s, 1 - t];
    for (let k = 0; k < 3; k += 1) {
      const at = (corner: number) => soup[face * 9 + corner * 3 + k]!;
      points[index * 3 + k] = at(0) + s * (at(1) - at(0)) + t * (at(2) - at(0)) + off(index) * normals[face]![k]!;
    }
  }
  return points;
}

const triples = (values: Float64Array): number[][] =>
  Array.from({ length: values.length / 3 }, (_, index) => [...values.subarray(index * 3, index * 3 + 3)]);

export const xyzText = (points: Float64Array): string =>
  `${triples(points)
    .map((one) => one.join(' '))
    .join('\n')}\n`;

const plyHead = (form: string, points: number, type: string): string =>
  `ply\nformat ${form} 1.0\ncomment of a test\nelement vertex ${points}\n${'xyz'
    .split('')
    .map((axis) => `property ${type} ${axis}\n`)
    .join('')}end_header\n`;

export const plyText = (points: Float64Array): string =>
  plyHead('ascii', points.length / 3, 'double') + xyzText(points);

export function plyBinary(points: Float64Array, isLittle = true, type: 'float' | 'double' = 'double'): Buffer {
  const width = type === 'double' ? 8 : 4;
  const body = Buffer.alloc(points.length * width);
  const view = new DataView(body.buffer, body.byteOffset, body.length);
  points.forEach((value, index) => {
    if (type === 'double') view.setFloat64(index * width, value, isLittle);
    else view.setFloat32(index * width, value, isLittle);
  });
  const form = isLittle ? 'binary_little_endian' : 'binary_big_endian';
  return Buffer.concat([Buffer.from(plyHead(form, points.length / 3, type)), body]);
}

export function stlText(mesh: Mesh): string {
  const faces = triples(soupOf(mesh));
  const lines = [];
  for (let at = 0; at < faces.length; at += 3) {
    const corners = faces.slice(at, at + 3).map((one) => `      vertex ${one.join(' ')}`);
    lines.push('  facet normal 0 0 0', '    outer loop', ...corners, '    endloop', '  endfacet');
  }
  return ['solid test', ...lines, 'endsolid test', ''].join('\n');
}

export function stlBinary(mesh: Mesh): Buffer {
  const soup = soupOf(mesh);
  const faces = soup.length / 9;
  const bytes = Buffer.alloc(84 + faces * 50);
  bytes.writeUInt32LE(faces, 80);
  soup.forEach((value, index) => {
    bytes.writeFloatLE(value, 84 + Math.floor(index / 9) * 50 + 12 + (index % 9) * 4);
  });
  return bytes;
}

/** Writes a file into a folder. @returns its path. */
export function written(folder: string, name: string, content: string | Buffer): string {
  const file = path.join(folder, name);
  fs.mkdirSync(folder, { recursive: true });
  fs.writeFileSync(file, content);
  return file;
}
