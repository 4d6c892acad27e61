import { BoxTree } from './box-tree.js';
import { facingOf } from './facing.js';
import { extentOf, type Mesh } from './mesh.js';
import { edgesOf } from './mesh-edges.js';
import { isFlat } from './mesh-findings.js';

/** Boxes that may wait on the way down: two for each level, of which there are no more than forty. */
const WAITING = 128;

/**
 * A mesh that answers which of its points is the nearest, and on which side. The answer of `nearest` stands in the fields
 * until the next question: a million of them are asked, and none is to be left for the garbage collector.
 */
export class Surface {
  /** Distance of the last point: positive outside the material, negative inside, 0 on the surface. */
  signed = 0;
  /** The nearest point of the surface. */
  x = 0;
  y = 0;
  z = 0;
  /** Outward direction there, of length 1: of the triangle, or between those that meet in the edge or corner. */
  nx = 0;
  ny = 0;
  nz = 0;
  triangle = -1;

  /** Undefined where no triangle has an area. */
  private readonly tree: BoxTree | undefined;
  /** Nine coordinates of each triangle in the order of the tree, so that those of a leaf lie together. */
  private readonly flat: Float64Array;
  /** Their numbers in the mesh. */
  private readonly numbers: Uint32Array;
  private readonly normals: Float64Array;
  private readonly cornerNormals: Float64Array;
  private readonly twin: Int32Array;
  /** Place in that order of the triangle that was the nearest last. */
  private place = 0;
  private readonly waiting = new Int32Array(WAITING);
  private readonly waitingSquared = new Float64Array(WAITING);
  private squared = 0;
  private feature = 0;
  private px = 0;
  private py = 0;
  private pz = 0;

  /** Of all its corners: `[x0, y0, z0, x1, y1, z1]`. */
  readonly extent: readonly number[];

  constructor(private readonly mesh: Mesh) {
    const { corners, triangles } = mesh;
    this.extent = extentOf(corners);
    const used = withArea(mesh);
    this.tree = used.length === 0 ? undefined : new BoxTree(corners, cornersOf(mesh, used));
    this.numbers = (this.tree?.order ?? new Uint32Array(0)).map((place) => used[place]!);
    this.flat = coordinatesOf(corners, cornersOf(mesh, this.numbers));
    const all = coordinatesOf(corners, triangles);
    this.normals = faceNormals(all);
    this.cornerNormals = cornerNormals(mesh, all, this.normals);
    this.twin = edgesOf(mesh).twin;
  }

  /**
   * The point of the surface nearest to a place.
   * @param within how far it may lie: what is farther is not looked for.
   * @returns false when there is none within.
   */
  nearest(x: number, y: number, z: number, within: number): boolean {
    const { tree } = this;
    this.px = x;
    this.py = y;
    this.pz = z;
    this.squared = within * within;
    this.triangle = -1;
    if (tree === undefined) return false;
    // Points of a scan lie in rows: the last triangle is most often near, and shows how far to look.
    this.tryTriangle(this.place);
    this.walk(tree, x, y, z);
    if (this.triangle < 0) return false;
    this.toSide();
    return true;
  }

  /** Which way the nearest triangle faces, as `facingOf`. */
  get facing(): number {
    const at = this.triangle * 3;
    return facingOf(this.normals[at]!, this.normals[at + 1]!, this.normals[at + 2]!);
  }

  /** Down the nearer box first; what is farther than the best so far is left. */
  private walk(tree: BoxTree, x: number, y: number, z: number): void {
    const { waiting, waitingSquared } = this;
    waiting[0] = 0;
    waitingSquared[0] = 0;
    for (let last = 0; last >= 0; ) {
      const node = waiting[last]!;
      const squared = waitingSquared[last]!;
      last -= 1;
      if (squared > this.squared) continue;
      if (tree.isLeaf(node)) {
        const from = tree.from(node);
        const to = from + tree.count(node);
        for (let place = from; place < to; place += 1) this.tryTriangle(place);
        continue;
      }
      const first = tree.first(node);
      const second = tree.second(node);
      const toFirst = tree.squaredTo(first, x, y, z);
      const toSecond = tree.squaredTo(second, x, y, z);
      const isFirstNearer = toFirst <= toSecond;
      waiting[last + 1] = isFirstNearer ? second : first;
      waitingSquared[last + 1] = isFirstNearer ? toSecond : toFirst;
      waiting[last + 2] = isFirstNearer ? first : second;
      waitingSquared[last + 2] = isFirstNearer ? toFirst : toSecond;
      last += 2;
    }
  }

  /**
   * Nearest point of one triangle by the region of the plane in which the place lies (Ericson, Real-Time Collision
   * Detection, 2005, 5.1.5). The region is kept: it says whether a face, an edge or a corner is the nearest.
   */
  private tryTriangle(place: number): boolean {
    const c = this.flat;
    const at = place * 9;
    const ax = c[at]!;
    const ay = c[at + 1]!;
    const az = c[at + 2]!;
    const abx = c[at + 3]! - ax;
    const aby = c[at + 4]! - ay;
    const abz = c[at + 5]! - az;
    const acx = c[at + 6]! - ax;
    const acy = c[at + 7]! - ay;
    const acz = c[at + 8]! - az;
    const apx = this.px - ax;
    const apy = this.py - ay;
    const apz = this.pz - az;
    const d1 = abx * apx + aby * apy + abz * apz;
    const d2 = acx * apx + acy * apy + acz * apz;
    if (d1 <= 0 && d2 <= 0) return this.take(place, CORNER_A, ax, ay, az);
    const bpx = this.px - c[at + 3]!;
    const bpy = this.py - c[at + 4]!;
    const bpz = this.pz - c[at + 5]!;
    const d3 = abx * bpx + aby * bpy + abz * bpz;
    const d4 = acx * bpx + acy * bpy + acz * bpz;
    if (d3 >= 0 && d4 <= d3) return this.take(place, CORNER_B, c[at + 3]!, c[at + 4]!, c[at + 5]!);
    const vc = d1 * d4 - d3 * d2;
    if (vc <= 0 && d1 >= 0 && d3 <= 0) {
      const v = d1 / (d1 - d3);
      return this.take(place, EDGE_AB, ax + v * abx, ay + v * aby, az + v * abz);
    }
    const cpx = this.px - c[at + 6]!;
    const cpy = this.py - c[at + 7]!;
    const cpz = this.pz - c[at + 8]!;
    const d5 = abx * cpx + aby * cpy + abz * cpz;
    const d6 = acx * cpx + acy * cpy + acz * cpz;
    if (d6 >= 0 && d5 <= d6) return this.take(place, CORNER_C, c[at + 6]!, c[at + 7]!, c[at + 8]!);
    const vb = d5 * d2 - d1 * d6;
    if (vb <= 0 && d2 >= 0 && d6 <= 0) {
      const w = d2 / (d2 - d6);
      return this.take(place, EDGE_CA, ax + w * acx, ay + w * acy, az + w * acz);
    }
    const va = d3 * d6 - d5 * d4;
    if (va <= 0 && d4 - d3 >= 0 && d5 - d6 >= 0) {
      const w = (d4 - d3) / (d4 - d3 + (d5 - d6));
      return this.take(
        place,
        EDGE_BC,
        c[at + 3]! + w * (acx - abx),
        c[at + 4]! + w * (acy - aby),
        c[at + 5]! + w * (acz - abz),
      );
    }
    const sum = va + vb + vc;
    const [v, w] = [vb / sum, vc / sum];
    return this.take(place, FACE, ax + abx * v + acx * w, ay + aby * v + acy * w, az + abz * v + acz * w);
  }

  /** Whether it is the nearest so far. Of several as near the first of the file counts, whatever the tree looks like. */
  private take(place: number, feature: number, x: number, y: number, z: number): boolean {
    const dx = this.px - x;
    const dy = this.py - y;
    const dz = this.pz - z;
    const squared = dx * dx + dy * dy + dz * dz;
    if (squared > this.squared) return false;
    const triangle = this.numbers[place]!;
    if (squared === this.squared && this.triangle >= 0 && this.triangle < triangle) return false;
    this.squared = squared;
    this.place = place;
    this.triangle = triangle;
    this.feature = feature;
    this.x = x;
    this.y = y;
    this.z = z;
    return true;
  }

  /**
   * The side by the outward direction of the feature: of an edge the sum of both faces, of a corner the sum of its faces by
   * their angles there (Bærentzen and Aanæs, IEEE Trans. Vis. Comput. Graph. 11 (2005) 243).
   */
  private toSide(): void {
    const { triangle, feature } = this;
    if (feature >= CORNER_A) {
      this.towards(this.cornerNormals, this.mesh.triangles[triangle * 3 + feature - CORNER_A]!);
    } else {
      this.towards(this.normals, triangle);
      const twin = feature === FACE ? -1 : this.twin[triangle * 3 + feature - EDGE_AB]!;
      if (twin >= 0) {
        const at = Math.floor(twin / 3) * 3;
        this.nx += this.normals[at]!;
        this.ny += this.normals[at + 1]!;
        this.nz += this.normals[at + 2]!;
      }
    }
    const length = Math.sqrt(this.nx * this.nx + this.ny * this.ny + this.nz * this.nz) || 1;
    this.nx /= length;
    this.ny /= length;
    this.nz /= length;
    const side = (this.px - this.x) * this.nx + (this.py - this.y) * this.ny + (this.pz - this.z) * this.nz;
    const distance = Math.sqrt(this.squared);
    this.signed = side < 0 ? -distance : distance;
  }

  private towards(normals: Float64Array, place: number): void {
    this.nx = normals[place * 3]!;
    this.ny = normals[place * 3 + 1]!;
    this.nz = normals[place * 3 + 2]!;
  }
}

const FACE = 0;
const EDGE_AB = 1;
const EDGE_BC = 2;
const EDGE_CA = 3;
const CORNER_A = 4;
const CORNER_B = 5;
const CORNER_C = 6;

/** Numbers of the triangles that have an outer side. */
function withArea(mesh: Mesh): Uint32Array {
  const numbers = new Uint32Array(mesh.triangles.length / 3);
  let kept = 0;
  for (let triangle = 0; triangle < numbers.length; triangle += 1)
    if (!isFlat(mesh, triangle)) numbers[kept++] = triangle;
  return numbers.slice(0, kept);
}

function cornersOf({ triangles }: Mesh, numbers: Uint32Array): Uint32Array {
  const corners = new Uint32Array(numbers.length * 3);
  for (let place = 0; place < corners.length; place += 1)
    corners[place] = triangles[numbers[Math.floor(place / 3)]! * 3 + (place % 3)]!;
  return corners;
}

function coordinatesOf(corners: Float64Array, named: Uint32Array): Float64Array {
  const coordinates = new Float64Array(named.length * 3);
  for (let at = 0; at < coordinates.length; at += 1)
    coordinates[at] = corners[named[Math.floor(at / 3)]! * 3 + (at % 3)]!;
  return coordinates;
}

/** Of length 1; zero where a triangle has no area. */
function faceNormals(c: Float64Array): Float64Array {
  const normals = new Float64Array(c.length / 3);
  for (let at = 0; at < c.length; at += 9) {
    const [ux, uy, uz] = [c[at + 3]! - c[at]!, c[at + 4]! - c[at + 1]!, c[at + 5]! - c[at + 2]!];
    const [vx, vy, vz] = [c[at + 6]! - c[at]!, c[at + 7]! - c[at + 1]!, c[at + 8]! - c[at + 2]!];
    const [nx, ny, nz] = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
    const length = Math.sqrt(nx * nx + ny * ny + nz * nz) || 1;
    normals.set([nx / length, ny / length, nz / length], at / 3);
  }
  return normals;
}

/** Sums of the normals of the faces around each corner, by their angles there; not yet of length 1. */
function cornerNormals({ corners, triangles }: Mesh, flat: Float64Array, normals: Float64Array): Float64Array {
  const sums = new Float64Array(corners.length);
  for (let place = 0; place < triangles.length; place += 1) {
    const triangle = Math.floor(place / 3);
    const angle = angleAt(flat, triangle * 9, place % 3);
    for (let axis = 0; axis < 3; axis += 1)
      sums[triangles[place]! * 3 + axis]! += normals[triangle * 3 + axis]! * angle;
  }
  return sums;
}

function angleAt(c: Float64Array, at: number, corner: number): number {
  const place = (k: number) => at + ((corner + k) % 3) * 3;
  const side = (to: number) => [0, 1, 2].map((axis) => c[to + axis]! - c[place(0) + axis]!);
  const [u, v] = [side(place(1)), side(place(2))] as [number[], number[]];
  const dot = u[0]! * v[0]! + u[1]! * v[1]! + u[2]! * v[2]!;
  const lengths = Math.hypot(...u) * Math.hypot(...v);
  return lengths === 0 ? 0 : Math.acos(Math.max(-1, Math.min(1, dot / lengths)));
}
