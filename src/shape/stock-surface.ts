import { type Mesh, meshOf, scaled } from './mesh.js';
import { type MeshFile, readMesh } from './read-mesh.js';
import { Surface } from './surface.js';

/** How far the surface of a stock part may lie from that of the design where both are the same, beside the diagonal. */
const ALIKE = 1e-3;

/**
 * The surface of a stock part in the frame of the design. A place of the design belongs to the stock where both surfaces lie
 * together: there nothing was built.
 */
export class StockSurface {
  private readonly surface: Surface;
  private readonly alike: number;

  /** @param across diagonal of the design, in mm. */
  constructor(
    readonly mesh: Mesh,
    readonly sha256: string,
    across: number,
  ) {
    this.surface = new Surface(mesh);
    this.alike = across * ALIKE;
  }

  /** Whether a place of the surface of the design is one of the stock. */
  holds(x: number, y: number, z: number): boolean {
    return this.surface.nearest(x, y, z, this.alike);
  }

  /** Which way the stock faces at the place that it was last asked for and holds, as `facingOf`. */
  get facing(): number {
    return this.surface.facing;
  }
}

/** @param mm factor that makes millimetres of the mesh. @throws BadInputError as `readMesh`. */
export async function stockSurfaceOf(file: MeshFile, mm: number, across: number): Promise<StockSurface> {
  const { coordinates, sha256 } = await readMesh(file);
  return new StockSurface(scaled(meshOf(coordinates), mm), sha256, across);
}
