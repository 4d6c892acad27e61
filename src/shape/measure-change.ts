import { BadInputError } from '../base/errors.js';
import { coveredIn } from './bodies.js';
import { spotsOn, squareOf, type ZoneGrid } from './coverage.js';
import { DeviationCount, type PlacedDeviation, type ZoneDeviations } from './deviations.js';
import { fitHeld } from './fit.js';
import { apart, type InUnit } from './measure-shape.js';
import { diagonalOf, extentOf, joined, meshOf, scaled } from './mesh.js';
import { AT_REST, type Motion, moved } from './motion.js';
import { BLOCK_POINTS } from './point-block.js';
import { readingSteps, type ShapeProgress, type Step } from './progress.js';
import { type MeshFile, readMesh } from './read-mesh.js';
import { type PointFile, type ReadPoints, readPoints } from './read-points.js';
import { Sample } from './sample.js';
import { senseFault } from './sense.js';
import { shapeProblem } from './shape-fault.js';
import { StockSurface } from './stock-surface.js';
import { Surface } from './surface.js';

/** A scan with how it is laid on what it shows. */
export interface LaidScan {
  readonly points: InUnit<PointFile>;
  /** A motion in mm that the scanner states, before all else. */
  readonly given?: Motion;
  readonly judged: 'as given' | 'least squares';
  /** Standard uncertainty of a point. */
  readonly uncertaintyMm?: number;
}

/** A stock part as it was scanned before and after it was built on. */
export interface ChangeRequest {
  readonly before: LaidScan;
  readonly after: LaidScan;
  readonly stock: InUnit<MeshFile>;
  readonly design: InUnit<MeshFile>;
}

/** One of the two scans, as far as it shows the surface of the stock that stays. Lengths in mm. */
export interface LaidTold {
  readonly read: ReadPoints;
  readonly motion: Motion;
  /** Of the fit; undefined as given. */
  readonly residualMm: number | undefined;
  /** Deviations from the mesh of the stock; undefined without a point there. */
  readonly kept: ZoneDeviations | undefined;
}

/** By how much the surface of the stock lies elsewhere than before, square by square of it. */
export interface ChangeReport {
  readonly before: LaidTold;
  readonly after: LaidTold;
  readonly stock: { readonly sha256: string; readonly triangles: number };
  readonly design: { readonly sha256: string; readonly triangles: number };
  readonly cellMm: number;
  /** Share of the surface that stays of which both scans show enough, 0..1. */
  readonly comparedShare: number;
  /** Share of it that the scan before shows and of which the one after has no point within reach, 0..1. */
  readonly lostShare: number;
  /** How far from the surface a point is looked for. */
  readonly reachMm: number;
  readonly cells: number;
  /** Undefined where no square has enough points of both. */
  readonly change: ChangeTold | undefined;
}

export interface ChangeTold {
  readonly meanMm: number;
  readonly rmsMm: number;
  readonly lowestMm: number;
  readonly highestMm: number;
  readonly worst: PlacedDeviation;
}

const REACH = 1 / 20;
const SENSE_POINTS = 400;
const FIT_POINTS = 20_000;
/** Squares into which the surface that stays is cut: each is a mean of many points. */
const CELLS = 250;
/** Points of each scan that a square has to have. */
const LEAST_POINTS = 3;
/** So many have to be missing of a square before it is lost: fewer may miss it by chance, one in twenty thousand times. */
const LOST_POINTS = 10;

/**
 * Compares two scans of a stock part on the surface that stays: where stock and design lie together. Of each square of it the
 * mean deviation of one scan from that surface is taken from the mean of the other.
 * @throws BadInputError that names what is wrong with a file; AbortError by the signal.
 */
export async function measureChange(
  { before, after, stock, design }: ChangeRequest,
  onProgress: (progress: ShapeProgress) => void = () => {},
  signal?: AbortSignal,
): Promise<ChangeReport> {
  const read = { stock: await readMesh(stock.file), design: await readMesh(design.file) };
  const mesh = scaled(meshOf(read.design.coordinates), design.mm);
  const extent = extentOf(mesh.corners);
  const across = diagonalOf(extent);
  const held = new StockSurface(scaled(meshOf(read.stock.coordinates), stock.mm), read.stock.sha256, across);
  const grid = keptGrid(mesh, held, extent);
  if (grid === undefined) throw new BadInputError([shapeProblem(stock.file.name, apart(stock.file.name))]);
  // Both scans are read twice.
  const step = readingSteps(4, onProgress, signal);
  const kept = { held, grid, across };
  const [first, then] = [
    await laidOn(before, new Surface(held.mesh), kept, [step(0), step(1)]),
    await laidOn(after, new Surface(mesh), kept, [step(2), step(3)]),
  ];
  const told = compared(grid, first.means, then.means);
  return {
    before: first.told,
    after: then.told,
    stock: { sha256: read.stock.sha256, triangles: held.mesh.triangles.length / 3 },
    design: { sha256: read.design.sha256, triangles: mesh.triangles.length / 3 },
    cellMm: grid.side,
    reachMm: across * REACH,
    cells: grid.shares.size,
    ...told,
  };
}

/**
 * The surface of the design that is that of the stock and can be seen, cut into squares by its place and the way it faces. Where
 * another body of the design covers it nothing stays to be compared.
 */
function keptGrid(mesh: Parameters<typeof spotsOn>[0], held: StockSurface, extent: readonly number[]) {
  const { spots, area } = spotsOn(mesh);
  const isCovered = coveredIn(mesh);
  const own: number[] = [];
  const facings: number[] = [];
  for (let at = 0; at < spots.length; at += 3) {
    const [x, y, z] = [spots[at]!, spots[at + 1]!, spots[at + 2]!];
    if (!held.holds(x, y, z) || isCovered?.(x, y, z, held.facing)) continue;
    own.push(at);
    facings.push(held.facing);
  }
  if (own.length === 0) return undefined;
  const from = [extent[0]!, extent[1]!, extent[2]!] as const;
  const side = Math.sqrt((area * own.length) / (spots.length / 3) / CELLS);
  const shares = new Map<number, number>();
  for (const [index, at] of own.entries()) {
    const square = squareOf({ side, from }, spots[at]!, spots[at + 1]!, spots[at + 2]!, facings[index]!);
    shares.set(square, (shares.get(square) ?? 0) + 1 / own.length);
  }
  return { side, from, shares } satisfies ZoneGrid;
}

interface Kept {
  readonly held: StockSurface;
  readonly grid: ZoneGrid;
  readonly across: number;
}

/** Of a square: how many points, the sum of their deviations, and where they lie. */
interface Mean {
  points: number;
  sum: number;
  readonly at: [number, number, number];
}

/**
 * Lays one scan on what it shows, the stock before and the implant after, and takes its means on the surface that stays.
 * @param surface what the whole scan shows.
 */
async function laidOn(
  { points, given = AT_REST, judged, uncertaintyMm }: LaidScan,
  surface: Surface,
  { held, grid, across }: Kept,
  steps: readonly [Step, Step],
): Promise<{ readonly told: LaidTold; readonly means: Map<number, Mean> }> {
  const reach = across * REACH;
  const sample = new Sample(FIT_POINTS);
  const whole: number[][] = [];
  const inMm = new Float64Array(BLOCK_POINTS * 3);
  const take = (use: (coordinates: Float64Array, count: number) => void) => (block: Float64Array, count: number) => {
    for (let at = 0; at < count * 3; at += 1) inMm[at] = block[at]! * points.mm;
    moved(given, inMm, inMm, count);
    use(inMm, count);
  };
  await readPoints(
    points.file,
    take((block, count) => {
      sample.add(block, count);
      whole.push(extentOf(block, count));
    }),
    steps[0],
  );
  const fault = senseFault(sample.some(SENSE_POINTS), surface, joined(whole), surface.extent);
  if (fault) throw new BadInputError([shapeProblem(points.file.name, fault)]);
  // Both scans ask the mesh of the stock which way it faces: that of the design may have other triangles there.
  const squareAt = (x: number, y: number, z: number): number | undefined => {
    const square = held.holds(x, y, z) ? squareOf(grid, x, y, z, held.facing) : undefined;
    return square !== undefined && grid.shares.has(square) ? square : undefined;
  };
  const stays = (x: number, y: number, z: number) => squareAt(x, y, z) !== undefined;
  const fit = judged === 'as given' ? undefined : fitHeld(sample.all(), surface, reach, across, stays);
  // A scan that is to be fitted and shows too little of what stays lies nobody knows where.
  const isLost = judged === 'least squares' && fit === undefined;
  const motion = fit?.motion ?? AT_REST;
  const kept = new DeviationCount({ zone: '' }, reach, uncertaintyMm);
  const means = new Map<number, Mean>();
  const laid = new Float64Array(BLOCK_POINTS * 3);
  const read = await readPoints(
    points.file,
    take((block, count) => {
      moved(motion, block, laid, count);
      for (let at = 0; at < count * 3; at += 3) {
        const [x, y, z] = [laid[at]!, laid[at + 1]!, laid[at + 2]!];
        const square = surface.nearest(x, y, z, reach) ? squareAt(surface.x, surface.y, surface.z) : undefined;
        if (square === undefined) continue;
        kept.add(surface.signed, x, y, z);
        const mean = means.get(square) ?? { points: 0, sum: 0, at: [surface.x, surface.y, surface.z] };
        mean.points += 1;
        mean.sum += surface.signed;
        means.set(square, mean);
      }
    }),
    steps[1],
  );
  const told = {
    read,
    motion: fit?.motion ?? given,
    residualMm: fit?.residualMm,
    kept: isLost ? undefined : kept.told(),
  };
  return { told, means: isLost ? new Map() : means };
}

/** The difference of the means, after less before, where both scans have enough points. */
function compared(
  { shares }: ZoneGrid,
  before: ReadonlyMap<number, Mean>,
  after: ReadonlyMap<number, Mean>,
): Pick<ChangeReport, 'comparedShare' | 'lostShare' | 'change'> {
  let [comparedShare, weighted, squares, weight] = [0, 0, 0, 0];
  let [lowestMm, highestMm] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  let worst: PlacedDeviation | undefined;
  for (const [square, share] of shares) {
    const [first, then] = [before.get(square), after.get(square)];
    if (first === undefined || then === undefined) continue;
    if (Math.min(first.points, then.points) < LEAST_POINTS) continue;
    const changeMm = then.sum / then.points - first.sum / first.points;
    comparedShare += share;
    weight += share;
    weighted += share * changeMm;
    squares += share * changeMm * changeMm;
    lowestMm = Math.min(lowestMm, changeMm);
    highestMm = Math.max(highestMm, changeMm);
    if (worst === undefined || Math.abs(changeMm) > Math.abs(worst.deviationMm))
      worst = { deviationMm: changeMm, at: then.at };
  }
  if (worst === undefined) return { comparedShare: 0, lostShare: 0, change: undefined };
  const lostShare = lost(shares, before, after);
  const change = { meanMm: weighted / weight, rmsMm: Math.sqrt(squares / weight), lowestMm, highestMm, worst };
  return { comparedShare: Math.min(1, comparedShare), lostShare, change };
}

/** Share of the squares that one scan shows and the other, as dense as it is on those that both show, does not. */
function lost(shares: ZoneGrid['shares'], before: ReadonlyMap<number, Mean>, after: ReadonlyMap<number, Mean>): number {
  const both = [...before].flatMap(([square, { points }]) => {
    const then = after.get(square);
    return then === undefined ? [] : [[points, then.points] as const];
  });
  const [first, then] = [0, 1].map((k) => both.reduce((sum, points) => sum + points[k]!, 0)) as [number, number];
  let sum = 0;
  for (const [square, share] of shares) {
    if (after.has(square)) continue;
    // Of a square that is covered in part, the scan before has points that the one after cannot have.
    const seen = (before.get(square)?.points ?? 0) * Math.min(1, share * CELLS);
    if ((seen * then) / first >= LOST_POINTS) sum += share;
  }
  return Math.min(1, sum);
}
