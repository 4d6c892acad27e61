import { BadInputError } from '../base/errors.js';
import { type Alignment, align } from './align.js';
import { Coverage, type ZoneGrid, zoneGrids } from './coverage.js';
import { DeviationCount, type ZoneDeviations } from './deviations.js';
import { diagonalOf, extentOf, meshOf, scaled } from './mesh.js';
import { type MeshFinding, meshFindings } from './mesh-findings.js';
import { AT_REST, type Motion, moved } from './motion.js';
import { BLOCK_POINTS } from './point-block.js';
import { type MeshFile, readMesh } from './read-mesh.js';
import { type PointFile, type ReadPoints, readPoints } from './read-points.js';
import { type AskedZone, regionOf } from './region.js';
import { Sample } from './sample.js';
import { senseFault } from './sense.js';
import { type ShapeFault, shapeProblem } from './shape-fault.js';
import { type SideView, SideViews } from './side-views.js';
import { Surface } from './surface.js';
import { isInZone, SAME_PLACE, type ShapeZone } from './zones.js';

/** A file with the factor that makes millimetres of its coordinates. */
export interface InUnit<File> {
  readonly file: File;
  readonly mm: number;
}

/** What is to be measured. */
export interface ShapeRequest {
  readonly points: InUnit<PointFile>;
  /** Also the unit of the meshes of zones. */
  readonly mesh: InUnit<MeshFile>;
  readonly zones: readonly AskedZone[];
  /** A motion in mm that the scanner states, before all else. */
  readonly given?: Motion;
  /** Which of both results is judged. */
  readonly judged: 'as given' | 'least squares';
  /** Standard uncertainty of a point. */
  readonly uncertaintyMm?: number;
}

export interface AlignedDeviations {
  /** With what the scanner states. */
  readonly motion: Motion;
  /** Of the fit; undefined as given. */
  readonly residualMm?: number;
  readonly zones: readonly ZoneDeviations[];
  readonly all: ZoneDeviations | undefined;
  /** Points without surface within reach. */
  readonly unreached: number;
}

/** All that is told of a scan. Lengths are in mm, in the frame of the mesh. */
export interface ShapeReport {
  readonly points: ReadPoints;
  readonly mesh: { readonly sha256: string; readonly triangles: number; readonly findings: readonly MeshFinding[] };
  /** SHA-256 of the mesh of each zone that has one. */
  readonly zoneMeshes: ReadonlyMap<string, string>;
  readonly reachMm: number;
  readonly asGiven: AlignedDeviations;
  /** Undefined where too few points of the datums, or of the scan, lie near the surface. */
  readonly leastSquares: AlignedDeviations | undefined;
  /** Of the result that is judged. */
  readonly views: readonly SideView[];
}

export interface ShapeProgress {
  readonly doneBytes: number;
  readonly totalBytes: number;
}

/** How far from the mesh a point may lie, beside its diagonal: what lies farther is none of the part. */
const REACH = 1 / 20;
/** Points of the sense, and of the fit: more tell nothing more. */
const SENSE_POINTS = 400;
const FIT_POINTS = 20_000;
/** Of a scan of this part few points lie out of reach, and most of the others near: what was laid on another one lies all about. */
const MOST_UNREACHED = 0.5;
const MOST_SPREAD = 0.3;

/**
 * Measures the deviation of each point of a scan from the nearest surface of a mesh, in this thread.
 * @param signal ends it at the next piece of a file; the promise then rejects with an AbortError.
 * @throws BadInputError that names what is wrong with a file: its form, its unit, its sense, or that it is of another part.
 */
export async function measureShape(
  request: ShapeRequest,
  onProgress: (progress: ShapeProgress) => void = () => {},
  signal?: AbortSignal,
): Promise<ShapeReport> {
  const { points, mesh: asked, zones, given = AT_REST, judged, uncertaintyMm } = request;
  const { name } = points.file;
  const refuse = (fault: ShapeFault | undefined) => {
    if (fault) throw new BadInputError([shapeProblem(name, fault)]);
  };
  const triangles = await readMesh(asked.file);
  const mesh = scaled(meshOf(triangles.coordinates), asked.mm);
  const findings = meshFindings(mesh, triangles.againstNormal);
  const extent = extentOf(mesh.corners);
  const across = diagonalOf(extent);
  const reach = across * REACH;
  const surface = new Surface(mesh);
  const zoneMeshes = new Map<string, string>();
  const regions: ShapeZone[] = [];
  const near = across * SAME_PLACE;
  for (const zone of zones) regions.push(await regionOf(zone, asked.mm, surface, near, zoneMeshes));
  const grids = zoneGrids(mesh, regions, extent, near);

  const sample = new Sample(FIT_POINTS);
  const whole: number[][] = [];
  const inMm = new Float64Array(BLOCK_POINTS * 3);
  const take = (use: (coordinates: Float64Array, count: number) => void) => (block: Float64Array, count: number) => {
    for (let at = 0; at < count * 3; at += 1) inMm[at] = block[at]! * points.mm;
    moved(given, inMm, inMm, count);
    use(inMm, count);
  };
  // Read twice: a fit and the sense need some points of all of it before the first is judged.
  const half = (from: number) => (done: number, total: number) => {
    signal?.throwIfAborted();
    onProgress({ doneBytes: from * total + done, totalBytes: 2 * total });
  };
  await readPoints(
    points.file,
    take((block, count) => {
      sample.add(block, count);
      whole.push(extentOf(block, count));
    }),
    half(0),
  );
  refuse(senseFault(sample.some(SENSE_POINTS), surface, joined(whole), extent));
  const fit = fitOf(sample.all(), surface, reach, across, regions, zones);

  const asGiven = new Deviations(surface, regions, grids, reach, near, uncertaintyMm);
  const fitted = fit && new Deviations(surface, regions, grids, reach, near, uncertaintyMm);
  const views = new SideViews(extent);
  const laid = new Float64Array(BLOCK_POINTS * 3);
  const isFitJudged = judged === 'least squares' && fitted !== undefined;
  const read = await readPoints(
    points.file,
    take((block, count) => {
      if (fit) moved(fit.motion, block, laid, count);
      // Point by point, since both places of a point lie near the same triangle.
      for (let at = 0; at < count * 3; at += 3) {
        asGiven.add(block[at]!, block[at + 1]!, block[at + 2]!, isFitJudged ? undefined : views);
        fitted?.add(laid[at]!, laid[at + 1]!, laid[at + 2]!, isFitJudged ? views : undefined);
      }
    }),
    half(1),
  );
  const told = isFitJudged ? fitted : asGiven;
  refuse(told.isElsewhere ? elsewhere(told, read.points, reach) : undefined);
  return {
    points: read,
    mesh: { sha256: triangles.sha256, triangles: mesh.triangles.length / 3, findings },
    zoneMeshes,
    reachMm: reach,
    asGiven: { motion: given, ...asGiven.told() },
    leastSquares: fitted && { ...fit, ...fitted.told() },
    views: views.told(),
  };
}

const elsewhere = ({ unreached, rmsMm }: Deviations, points: number, reach: number): ShapeFault => ({
  code: 'shape-elsewhere',
  found: `${unreached} of ${points} points farther than ${Number(reach.toPrecision(3))} mm from the mesh, the others within ${Number(rmsMm.toPrecision(3))} mm in the mean of squares`,
  expected: 'a scan of this part in the frame of its mesh',
  remedy:
    'look whether it is of another part or case; of this part, lay it on the mesh by least squares or state the matrix',
});

/** A fit to the points of the datums where the design names some, else to all of the sample. */
function fitOf(
  sample: Float64Array,
  surface: Surface,
  reach: number,
  across: number,
  regions: readonly ShapeZone[],
  zones: readonly AskedZone[],
): Alignment | undefined {
  const datums = regions.filter((_, index) => zones[index]!.isDatum);
  const isHeld = (x: number, y: number, z: number) =>
    surface.nearest(x, y, z, across) &&
    (datums.length === 0 ||
      datums.some((zone) => isInZone(zone, surface.x, surface.y, surface.z, across * SAME_PLACE)));
  /** Points that lie on a datum once they are moved, as they were before. */
  const heldBy = (motion: Motion) => {
    const laid = new Float64Array(sample.length);
    moved(motion, sample, laid, sample.length / 3);
    const held: number[] = [];
    for (let at = 0; at < sample.length; at += 3)
      if (isHeld(laid[at]!, laid[at + 1]!, laid[at + 2]!)) held.push(...sample.subarray(at, at + 3));
    return Float64Array.from(held);
  };
  // First with everything in sight, so that a scan in another frame comes near; then without what is none of the part.
  const rough = datums.length === 0 ? AT_REST : align(sample, surface, across).motion;
  let held = heldBy(rough);
  if (held.length < 9) return undefined;
  const near = align(held, surface, across, rough);
  // What is no datum draws the rough place a little: which points lie on one is asked again.
  if (datums.length > 0) held = heldBy(near.motion);
  const fit = align(held, surface, reach, near.motion);
  return fit.points < 3 ? undefined : fit;
}

function joined(extents: readonly number[][]): number[] {
  return [0, 1, 2, 3, 4, 5].map((k) => {
    const values = extents.map((extent) => extent[k]!);
    return values.reduce((a, b) => (k < 3 ? Math.min(a, b) : Math.max(a, b)));
  });
}

/** Deviations of points in one alignment. */
class Deviations {
  unreached = 0;
  private readonly all: DeviationCount;
  private readonly counts: readonly DeviationCount[];
  private readonly coverages: readonly Coverage[];

  constructor(
    private readonly surface: Surface,
    private readonly zones: readonly ShapeZone[],
    grids: readonly (ZoneGrid | undefined)[],
    private readonly reach: number,
    private readonly near: number,
    uncertaintyMm: number | undefined,
  ) {
    this.all = new DeviationCount({ zone: '' }, reach);
    this.counts = zones.map((zone) => new DeviationCount(zone, reach, uncertaintyMm));
    this.coverages = grids.map((grid) => new Coverage(grid));
  }

  add(x: number, y: number, z: number, views: SideViews | undefined): void {
    const { surface, zones, counts, coverages } = this;
    if (!surface.nearest(x, y, z, this.reach)) {
      this.unreached += 1;
      return;
    }
    const deviation = surface.signed;
    this.all.add(deviation, x, y, z);
    views?.add(deviation, surface.x, surface.y, surface.z);
    // The mesh of a zone is another surface, which keeps its own nearest place.
    for (let index = 0; index < zones.length; index += 1) {
      if (!isInZone(zones[index]!, surface.x, surface.y, surface.z, this.near)) continue;
      counts[index]!.add(deviation, x, y, z);
      coverages[index]!.add(surface.x, surface.y, surface.z);
    }
  }

  get rmsMm(): number {
    return this.all.told()?.rmsMm ?? 0;
  }

  get isElsewhere(): boolean {
    const points = this.unreached + (this.all.told()?.points ?? 0);
    return this.unreached > MOST_UNREACHED * points || this.rmsMm > MOST_SPREAD * this.reach;
  }

  told() {
    return {
      zones: this.counts.flatMap((count, index) => {
        const [told, scannedShare] = [count.told(), this.coverages[index]!.share];
        return told === undefined ? [] : [{ ...told, ...(scannedShare === undefined ? {} : { scannedShare }) }];
      }),
      all: this.all.told(),
      unreached: this.unreached,
    };
  }
}
