import { FACINGS, facingOf } from './facing.js';
import type { Mesh } from './mesh.js';
import { isInZone, type ShapeZone } from './zones.js';

/** Places looked at on the whole surface, spread evenly by its area. */
const SPOTS = 20_000;
/** Squares of which the surface of a zone is as large: in each a point is looked for. */
const SQUARES = 64;
/** Of a square where the grid begins before the surface, so that no plane face lies on its lines. */
const OFFSET = 0.37;

/**
 * The nominal surface of a zone, cut into squares: what lies in one cube of a grid and faces one way. Each has its share of the
 * surface.
 */
export interface ZoneGrid {
  readonly side: number;
  readonly from: readonly [number, number, number];
  readonly shares: ReadonlyMap<number, number>;
}

/** Along each axis at most: together, with the way it faces, they are a whole number that a float holds. */
const MOST_CUBES = 2 ** 16;

/** @param facing of the surface at the place, as `facingOf`. */
export function squareOf(
  { side, from }: Pick<ZoneGrid, 'side' | 'from'>,
  x: number,
  y: number,
  z: number,
  facing: number,
): number {
  const along = (value: number, start: number) =>
    Math.min(MOST_CUBES - 1, Math.max(0, Math.floor((value - start) / side + OFFSET)));
  const cube = (along(x, from[0]) * MOST_CUBES + along(y, from[1])) * MOST_CUBES + along(z, from[2]);
  return cube * FACINGS + facing;
}

/**
 * Cuts the surface of each zone, by places that follow from the mesh alone.
 * @param near as of `isInZone`. @param isOwn whether a place counts: every one when not asked.
 * @returns undefined for a zone without such a place.
 */
export function zoneGrids(
  mesh: Mesh,
  zones: readonly ShapeZone[],
  extent: readonly number[],
  near: number,
  isOwn: (x: number, y: number, z: number) => boolean = () => true,
): (ZoneGrid | undefined)[] {
  const { spots, facings, area } = spotsOn(mesh);
  const from = [extent[0]!, extent[1]!, extent[2]!] as const;
  return zones.map((zone) => {
    const own: number[] = [];
    for (let at = 0; at < spots.length; at += 3) {
      const [x, y, z] = [spots[at]!, spots[at + 1]!, spots[at + 2]!];
      if (isInZone(zone, x, y, z, near) && isOwn(x, y, z)) own.push(at);
    }
    if (own.length === 0) return undefined;
    const side = Math.sqrt((area * own.length) / (spots.length / 3) / SQUARES);
    const shares = new Map<number, number>();
    for (const at of own) {
      const square = squareOf({ side, from }, spots[at]!, spots[at + 1]!, spots[at + 2]!, facings[at / 3]!);
      shares.set(square, (shares.get(square) ?? 0) + 1 / own.length);
    }
    return { side, from, shares };
  });
}

/**
 * Places on a mesh, evenly by area: along the triangles one behind the other, and within each by two irrational steps.
 * @returns three coordinates of each, which way it faces, and the area of the mesh.
 */
export function spotsOn({ corners, triangles }: Mesh): {
  readonly spots: Float64Array;
  readonly facings: Uint8Array;
  readonly area: number;
} {
  const ends = new Float64Array(triangles.length / 3);
  const faces = new Uint8Array(ends.length);
  let area = 0;
  for (let index = 0; index < ends.length; index += 1) {
    const [a, b, c] = cornersOf(corners, triangles, index);
    const [u, v] = [a.map((value, k) => b[k]! - value), a.map((value, k) => c[k]! - value)];
    const normal = [
      u[1]! * v[2]! - u[2]! * v[1]!,
      u[2]! * v[0]! - u[0]! * v[2]!,
      u[0]! * v[1]! - u[1]! * v[0]!,
    ] as const;
    area += Math.hypot(...normal) / 2;
    faces[index] = facingOf(...normal);
    ends[index] = area;
  }
  const spots = new Float64Array(SPOTS * 3);
  const facings = new Uint8Array(SPOTS);
  let index = 0;
  for (let spot = 0; spot < SPOTS; spot += 1) {
    while (index < ends.length - 1 && ends[index]! < ((spot + 0.5) / SPOTS) * area) index += 1;
    facings[spot] = faces[index]!;
    const [a, b, c] = cornersOf(corners, triangles, index);
    let [s, t] = [(spot * 0.7548776662466927) % 1, (spot * 0.5698402909980532) % 1];
    if (s + t > 1) [s, t] = [1 - s, 1 - t];
    for (const k of [0, 1, 2]) spots[spot * 3 + k] = a[k]! + s * (b[k]! - a[k]!) + t * (c[k]! - a[k]!);
  }
  return { spots, facings, area };
}

const cornersOf = (corners: Float64Array, triangles: Uint32Array, index: number): [number[], number[], number[]] =>
  [0, 1, 2].map((k) => {
    const at = triangles[index * 3 + k]! * 3;
    return [corners[at]!, corners[at + 1]!, corners[at + 2]!];
  }) as [number[], number[], number[]];

/** Which share of the surface of a zone has a point of the scan near. */
export class Coverage {
  private readonly seen = new Set<number>();

  constructor(private readonly grid: ZoneGrid | undefined) {}

  /** @param x y z the nearest point of the nominal surface, in the zone. @param facing of that, as `facingOf`. */
  add(x: number, y: number, z: number, facing: number): void {
    if (this.grid) this.seen.add(squareOf(this.grid, x, y, z, facing));
  }

  /** 0..1; undefined where the zone has no surface that could be looked at. */
  get share(): number | undefined {
    if (this.grid === undefined) return undefined;
    let sum = 0;
    for (const [square, share] of this.grid.shares) if (this.seen.has(square)) sum += share;
    return Math.min(1, sum);
  }
}
