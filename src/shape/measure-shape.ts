import { BadInputError } from '../base/errors.js';
import { Deviations } from './aligned-deviations.js';
import { zoneGrids } from './coverage.js';
import type { ZoneDeviations } from './deviations.js';
import { fitHeld } from './fit.js';
import { diagonalOf, extentOf, joined, meshOf, scaled } from './mesh.js';
import { type MeshFinding, meshFindings } from './mesh-findings.js';
import { AT_REST, type Motion, moved } from './motion.js';
import { BLOCK_POINTS } from './point-block.js';
import { readingSteps, type ShapeProgress } from './progress.js';
import { type MeshFile, readMesh } from './read-mesh.js';
import { type PointFile, type ReadPoints, readPoints } from './read-points.js';
import { type AskedZone, regionOf } from './region.js';
import { Sample } from './sample.js';
import { senseFault } from './sense.js';
import { type ShapeFault, shapeProblem } from './shape-fault.js';
import { type SideView, SideViews } from './side-views.js';
import { stockSurfaceOf } from './stock-surface.js';
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
  /** Of an implant on stock: the surface of that, in the frame of the mesh. Deviations of it are told apart. */
  readonly stock?: InUnit<MeshFile>;
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
  /** What was built. */
  readonly zones: readonly ZoneDeviations[];
  /** What of each zone is of the stock; undefined without one. */
  readonly stock?: readonly ZoneDeviations[];
  readonly all: ZoneDeviations | undefined;
  /** Points without surface within reach. */
  readonly unreached: number;
}

/** All that is told of a scan. Lengths are in mm, in the frame of the mesh. */
export interface ShapeReport {
  readonly points: ReadPoints;
  readonly mesh: { readonly sha256: string; readonly triangles: number; readonly findings: readonly MeshFinding[] };
  readonly stock:
    | { readonly sha256: string; readonly triangles: number; readonly zones: ReadonlyMap<string, 'all' | 'part'> }
    | undefined;
  /** SHA-256 of the mesh of each zone that has one. */
  readonly zoneMeshes: ReadonlyMap<string, string>;
  readonly reachMm: number;
  readonly asGiven: AlignedDeviations;
  /** Undefined where too few points of the datums, or of the scan, lie near the surface. */
  readonly leastSquares: AlignedDeviations | undefined;
  /** Of the result that is judged. */
  readonly views: readonly SideView[];
}

/** How far from the mesh a point may lie, beside its diagonal: what lies farther is none of the part. */
const REACH = 1 / 20;
/** Points of the sense, and of the fit: more tell nothing more. */
const SENSE_POINTS = 400;
const FIT_POINTS = 20_000;

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
  const stock = request.stock && (await stockSurfaceOf(request.stock.file, request.stock.mm, across));
  const isOfStock = (x: number, y: number, z: number) => stock?.holds(x, y, z) ?? false;
  const grids = zoneGrids(mesh, regions, extent, near, (x, y, z) => !isOfStock(x, y, z));
  const stockGrids = stock ? zoneGrids(mesh, regions, extent, near, isOfStock) : [];
  refuse(stock && stockGrids.every((grid) => grid === undefined) ? apart(request.stock!.file.name) : undefined);

  const sample = new Sample(FIT_POINTS);
  const whole: number[][] = [];
  const inMm = new Float64Array(BLOCK_POINTS * 3);
  const take = (use: (coordinates: Float64Array, count: number) => void) => (block: Float64Array, count: number) => {
    for (let at = 0; at < count * 3; at += 1) inMm[at] = block[at]! * points.mm;
    moved(given, inMm, inMm, count);
    use(inMm, count);
  };
  // Read twice: a fit and the sense need some points of all of it before the first is judged.
  const step = readingSteps(2, onProgress, signal);
  await readPoints(
    points.file,
    take((block, count) => {
      sample.add(block, count);
      whole.push(extentOf(block, count));
    }),
    step(0),
  );
  refuse(senseFault(sample.some(SENSE_POINTS), surface, joined(whole), extent));
  const datums = regions.filter((_, index) => zones[index]!.isDatum);
  const isDatum = (x: number, y: number, z: number) => datums.some((zone) => isInZone(zone, x, y, z, near));
  const fit = fitHeld(sample.all(), surface, reach, across, datums.length === 0 ? undefined : isDatum);

  const against = { surface, zones: regions, grids, stockGrids, stock, reach, near, uncertaintyMm };
  const asGiven = new Deviations(against);
  const fitted = fit && new Deviations(against);
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
    step(1),
  );
  const told = isFitJudged ? fitted : asGiven;
  refuse(told.isElsewhere ? elsewhere(told, read.points, reach) : undefined);
  return {
    points: read,
    mesh: { sha256: triangles.sha256, triangles: mesh.triangles.length / 3, findings },
    stock: stock && {
      ...{ sha256: stock.sha256, triangles: stock.mesh.triangles.length / 3 },
      zones: new Map(
        regions.flatMap(({ zone }, index) =>
          stockGrids[index] === undefined ? [] : [[zone, grids[index] === undefined ? 'all' : 'part'] as const],
        ),
      ),
    },
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

export const apart = (name: string): ShapeFault => ({
  code: 'stock-apart',
  found: `the mesh of the stock part ${name}, of which no surface lies on that of the design`,
  expected: 'the stock in the frame of the design, with some of its surface left as it was',
  remedy: 'look whether both meshes are in the frame and the unit that are stated, and of this implant',
});
