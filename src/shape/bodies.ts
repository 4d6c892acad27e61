import { diagonalOf, extentOf, type Mesh } from './mesh.js';
import { edgesOf } from './mesh-edges.js';
import { Surface } from './surface.js';

/** Bodies looked at, those with most triangles: a mesh in more pieces than this is none of bodies that overlap. */
const MOST_BODIES = 16;
/** How near two surfaces lie that touch, beside the diagonal of the mesh. */
const TOUCHES = 1e-3;

/**
 * Tells places of a mesh that nobody can see since another body of it covers them: a design may be drawn as bodies that overlap or
 * touch, a bar and what is built on it, and where they meet there is metal on both sides. Bodies are triangles tied by their
 * corners; one that is open covers nothing.
 * @returns undefined for a mesh of one body: nothing of it is covered.
 */
export function coveredIn(mesh: Mesh): ((x: number, y: number, z: number, facing: number) => boolean) | undefined {
  const bodies = bodiesOf(mesh);
  if (bodies.length < 2) return undefined;
  const across = diagonalOf(extentOf(mesh.corners));
  const near = across * TOUCHES;
  const closed = bodies.filter((body) => isClosed(body)).map((body) => new Surface(body));
  return (x, y, z, facing) =>
    closed.some((surface) => {
      const [x0, y0, z0, x1, y1, z1] = surface.extent as [number, number, number, number, number, number];
      const isFar = x < x0 - near || y < y0 - near || z < z0 - near || x > x1 + near || y > y1 + near || z > z1 + near;
      if (isFar || !surface.nearest(x, y, z, across)) return false;
      // Of two that touch, the one faces into the other.
      return surface.signed < -near || (surface.signed <= near && surface.facing === (facing ^ 1));
    });
}

const isClosed = (body: Mesh): boolean => {
  const { open, crowded, sameWay } = edgesOf(body);
  return open.length + crowded.length + sameWay.length === 0;
};

/** The bodies of a mesh, the largest first; the mesh itself where it is one. */
export function bodiesOf(mesh: Mesh): Mesh[] {
  const { corners, triangles } = mesh;
  const root = Int32Array.from({ length: corners.length / 3 }, (_, corner) => corner);
  const rootOf = (corner: number): number => {
    let at = corner;
    while (root[at] !== at) {
      root[at] = root[root[at]!]!;
      at = root[at]!;
    }
    return at;
  };
  for (let at = 0; at < triangles.length; at += 3) {
    const first = rootOf(triangles[at]!);
    for (const other of [triangles[at + 1]!, triangles[at + 2]!]) root[rootOf(other)] = first;
  }
  const counts = new Map<number, number>();
  for (let at = 0; at < triangles.length; at += 3) {
    const body = rootOf(triangles[at]!);
    counts.set(body, (counts.get(body) ?? 0) + 1);
  }
  if (counts.size < 2) return [mesh];
  const largest = [...counts].sort(([a, m], [b, n]) => n - m || a - b).slice(0, MOST_BODIES);
  return largest.map(([body, count]) => {
    const own = new Uint32Array(3 * count);
    const ends = new Map<number, number>();
    const places: number[] = [];
    let filled = 0;
    for (let at = 0; at < triangles.length; at += 3) {
      if (rootOf(triangles[at]!) !== body) continue;
      for (const corner of triangles.subarray(at, at + 3)) {
        if (!ends.has(corner)) {
          ends.set(corner, ends.size);
          places.push(...corners.subarray(3 * corner, 3 * corner + 3));
        }
        own[filled] = ends.get(corner)!;
        filled += 1;
      }
    }
    return { corners: Float64Array.from(places), triangles: own };
  });
}
