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
 * edges; one that is open covers nothing.
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
  const root = Int32Array.from({ length: triangles.length / 3 }, (_, triangle) => triangle);
  const rootOf = (triangle: number): number => {
    let at = triangle;
    while (root[at] !== at) {
      root[at] = root[root[at]!]!;
      at = root[at]!;
    }
    return at;
  };
  const tie = (a: number, b: number) => {
    root[rootOf(Math.floor(b / 3))] = rootOf(Math.floor(a / 3));
  };
  const { twin, crowded } = edgesOf(mesh);
  for (const [side, other] of twin.entries()) if (other > side) tie(side, other);
  for (const [a, b] of wedgesAt(mesh, crowded)) tie(a, b);
  const counts = new Map<number, number>();
  for (let at = 0; at < triangles.length; at += 3) {
    const body = rootOf(at / 3);
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
      if (rootOf(at / 3) !== body) continue;
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

const endOf = (side: number): number => (side % 3 === 2 ? side - 2 : side + 1);

/** Sides between which metal lies, two by two, at edges that more than two triangles share: there bodies touch. */
function wedgesAt({ corners, triangles }: Mesh, crowded: readonly number[]): (readonly [number, number])[] {
  const edgeOf = (side: number) => {
    const [a, b] = [triangles[side]!, triangles[endOf(side)]!];
    return a < b ? `${a} ${b}` : `${b} ${a}`;
  };
  const sidesOf = new Map(crowded.map((side) => [edgeOf(side), [] as number[]]));
  if (sidesOf.size > 0) for (let side = 0; side < triangles.length; side += 1) sidesOf.get(edgeOf(side))?.push(side);
  return [...sidesOf.values()].flatMap((sides) => wedgesAround(corners, triangles, sides));
}

/** Angles that differ by less are one: triangles of one face. */
const SAME_ANGLE = 1e-6;

/** Goes once around an edge: metal begins at a triangle that runs down it, and ends at one that runs up. */
function wedgesAround(corners: Float64Array, triangles: Uint32Array, sides: readonly number[]) {
  const at = (corner: number) => [0, 1, 2].map((axis) => corners[3 * corner + axis]!) as [number, number, number];
  const [low, high] = [triangles[sides[0]!]!, triangles[endOf(sides[0]!)]!].sort((a, b) => a - b) as [number, number];
  const along = unit(minus(at(high), at(low)));
  const flattest = along.map(Math.abs).indexOf(Math.min(...along.map(Math.abs)));
  const first = unit(cross(along, [0, 1, 2].map((axis) => (axis === flattest ? 1 : 0)) as [number, number, number]));
  const second = cross(along, first);
  const around = sides.map((side) => {
    const toThird = minus(at(triangles[endOf(endOf(side))]!), at(low));
    const angle = Math.round(Math.atan2(dot(toThird, second), dot(toThird, first)) / SAME_ANGLE);
    const isEnd = triangles[side] === low;
    return { side, isEnd, angle: angle === -Math.round(Math.PI / SAME_ANGLE) ? -angle : angle };
  });
  // Of two bodies that touch in a face the one ends where the other begins.
  around.sort((a, b) => a.angle - b.angle || Number(b.isEnd) - Number(a.isEnd) || a.side - b.side);
  const begun: number[] = [];
  const wedges: (readonly [number, number])[] = [];
  // Twice around: what begins before the first angle ends after it.
  for (const { side, isEnd } of [...around, ...around]) {
    if (!isEnd) begun.push(side);
    else if (begun.length > 0) wedges.push([begun.pop()!, side]);
  }
  return wedges;
}

type Vector = readonly [number, number, number];
const minus = (a: Vector, b: Vector): Vector => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const dot = (a: Vector, b: Vector): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a: Vector, b: Vector): Vector => [
  ...([a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]] as const),
];
const unit = (a: Vector): Vector => a.map((value) => value / Math.hypot(...a)) as [number, number, number];
