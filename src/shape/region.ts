import { BadInputError } from '../base/errors.js';
import { type Mesh, meshOf, scaled } from './mesh.js';
import { type MeshFile, readMesh } from './read-mesh.js';
import { shapeProblem } from './shape-fault.js';
import { Surface } from './surface.js';
import type { ShapeZone } from './zones.js';

/** A zone as a design asks for it. */
export interface AskedZone {
  readonly zone: string;
  /** In mm, `[x0, y0, z0, x1, y1, z1]`. */
  readonly box?: readonly number[];
  readonly mesh?: MeshFile;
  readonly outsideMm?: number;
  readonly insideMm?: number;
  /** Where the part is held: a fit is made to points of such zones alone. */
  readonly isDatum?: boolean;
}

/**
 * A zone with its own mesh, if it has one.
 * @param mm factor that makes millimetres of the mesh. @param model surface of the part.
 * @param near how far both may lie from each other. @param meshes takes the SHA-256 of the mesh.
 * @throws BadInputError where the mesh lies farther off: points there would be in no zone, and nobody would know.
 */
export async function regionOf(
  { zone, box, mesh: file, outsideMm, insideMm }: AskedZone,
  mm: number,
  model: Surface,
  near: number,
  meshes: Map<string, string>,
): Promise<ShapeZone> {
  const read = file && (await readMesh(file));
  if (read) meshes.set(zone, read.sha256);
  const mesh = read && scaled(meshOf(read.coordinates), mm);
  const off = mesh && placeOff(mesh, model, near);
  if (off) {
    throw new BadInputError([
      shapeProblem(file!.name, {
        code: 'zone-mesh-off',
        found: `the mesh of zone ${zone} farther than ${Number(near.toPrecision(2))} mm from the model at ${off.map((value) => Number(value.toFixed(3))).join(', ')} mm`,
        expected: 'a part of the surface of the model',
        remedy: 'cut the zone out of the mesh of the model, with the same triangles, or state a box',
      }),
    ]);
  }
  return {
    zone,
    ...(box === undefined ? {} : { box }),
    ...(mesh === undefined ? {} : { mesh: new Surface(mesh) }),
    ...(outsideMm === undefined ? {} : { outsideMm, insideMm: insideMm ?? outsideMm }),
  };
}

/** The first corner or middle of a triangle that lies farther from a surface than it may. */
function placeOff({ corners, triangles }: Mesh, model: Surface, near: number): readonly number[] | undefined {
  const at = (corner: number) => [0, 1, 2].map((k) => corners[corner * 3 + k]!);
  for (let first = 0; first < triangles.length; first += 3) {
    const [a, b, c] = [0, 1, 2].map((k) => at(triangles[first + k]!)) as [number[], number[], number[]];
    const middle = a.map((value, k) => (value + b[k]! + c[k]!) / 3);
    const off = [a, b, c, middle].find(([x, y, z]) => !model.nearest(x!, y!, z!, near));
    if (off) return off;
  }
  return undefined;
}
