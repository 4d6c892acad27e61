import type { Mesh } from './mesh.js';
import { edgesOf } from './mesh-edges.js';

/** What makes a mesh no closed surface with one outer side. */
export type MeshFault =
  | 'open edge'
  | 'edge of more than two triangles'
  | 'flipped triangle'
  | 'normal against its triangle'
  | 'triangle twice'
  | 'triangle without area'
  | 'turned inside out';

export interface MeshFinding {
  readonly fault: MeshFault;
  readonly count: number;
  /** The first of them, counted from 1 in the order of the file. */
  readonly triangle: number;
  /** The middle of that triangle, in mm. */
  readonly at: readonly [number, number, number];
}

const UNCLOSED: readonly MeshFault[] = ['open edge', 'edge of more than two triangles', 'flipped triangle'];

/**
 * What is wrong with a mesh, each fault once with its first place. Duplicates come before all else: with one of two left
 * out, the other may well be sound.
 */
export function meshFindings(mesh: Mesh, againstNormal: readonly number[]): MeshFinding[] {
  const twice = doubled(mesh);
  const flat = withoutArea(mesh);
  const { open, crowded, sameWay } = edgesOf(mesh);
  const triangleOf = (sides: readonly number[]) => sides.map((side) => Math.floor(side / 3));
  const found = [
    of(mesh, 'triangle twice', twice),
    of(mesh, 'triangle without area', flat),
    of(mesh, 'open edge', triangleOf(open)),
    of(mesh, 'edge of more than two triangles', triangleOf(crowded)),
    of(mesh, 'flipped triangle', triangleOf(sameWay)),
    of(mesh, 'normal against its triangle', againstNormal),
  ].flatMap((finding) => finding ?? []);
  const isClosed = !found.some(({ fault }) => UNCLOSED.includes(fault));
  const inside = isClosed && volumeOf(mesh) < 0 ? of(mesh, 'turned inside out', [0]) : undefined;
  return inside ? [...found, inside] : found;
}

function of(mesh: Mesh, fault: MeshFault, triangles: readonly number[]): MeshFinding | undefined {
  const [first] = triangles;
  if (first === undefined) return undefined;
  return { fault, count: triangles.length, triangle: first + 1, at: middleOf(mesh, first) };
}

function middleOf({ corners, triangles }: Mesh, triangle: number): [number, number, number] {
  const mean = (axis: number) =>
    [0, 1, 2].reduce((sum, k) => sum + corners[triangles[triangle * 3 + k]! * 3 + axis]!, 0) / 3;
  return [mean(0), mean(1), mean(2)];
}

/** Triangles of the same three corners as an earlier one, in whatever order. */
function doubled({ triangles }: Mesh): number[] {
  const count = triangles.length / 3;
  const sorted = new Uint32Array(triangles.length);
  const order = new Uint32Array(count);
  for (let triangle = 0; triangle < count; triangle += 1) {
    sorted.set(triangles.slice(triangle * 3, triangle * 3 + 3).sort(), triangle * 3);
    order[triangle] = triangle;
  }
  const compare = (a: number, b: number): number =>
    sorted[a * 3]! - sorted[b * 3]! ||
    sorted[a * 3 + 1]! - sorted[b * 3 + 1]! ||
    sorted[a * 3 + 2]! - sorted[b * 3 + 2]!;
  order.sort((a, b) => compare(a, b) || a - b);
  const found: number[] = [];
  for (let place = 1; place < count; place += 1)
    if (compare(order[place - 1]!, order[place]!) === 0) found.push(order[place]!);
  return found.sort((a, b) => a - b);
}

/** A long needle has an area of the size of the last digits of its coordinates: it is as good as none. */
const NO_AREA = 1e-14;

function withoutArea(mesh: Mesh): number[] {
  const found: number[] = [];
  for (let triangle = 0; triangle < mesh.triangles.length / 3; triangle += 1)
    if (isFlat(mesh, triangle)) found.push(triangle);
  return found;
}

/** Whether a triangle has no area, and so no side that could be its outer one. */
export function isFlat({ corners, triangles }: Mesh, triangle: number): boolean {
  const [a, b, c] = [0, 1, 2].map((k) => triangles[triangle * 3 + k]! * 3) as [number, number, number];
  const edge = (from: number, to: number) => [0, 1, 2].map((axis) => corners[to + axis]! - corners[from + axis]!);
  const [u, v] = [edge(a, b), edge(a, c)] as [number[], number[]];
  const [ux, uy, uz, vx, vy, vz] = [...u, ...v] as [number, number, number, number, number, number];
  const double = Math.hypot(uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx);
  const longest = Math.max(ux * ux + uy * uy + uz * uz, vx * vx + vy * vy + vz * vz);
  return !(double > NO_AREA * longest);
}

/** Six times the volume that a closed mesh encloses would do: only its sign is asked. It is negative when turned inside out. */
export function volumeOf({ corners, triangles }: Mesh): number {
  let sum = 0;
  for (let at = 0; at < triangles.length; at += 3) {
    const [a, b, c] = [triangles[at]! * 3, triangles[at + 1]! * 3, triangles[at + 2]! * 3];
    const [bx, by, bz] = [corners[b]!, corners[b + 1]!, corners[b + 2]!];
    const [cx, cy, cz] = [corners[c]!, corners[c + 1]!, corners[c + 2]!];
    sum +=
      corners[a]! * (by * cz - bz * cy) + corners[a + 1]! * (bz * cx - bx * cz) + corners[a + 2]! * (bx * cy - by * cx);
  }
  return sum / 6;
}
