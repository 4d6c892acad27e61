import { beyondBand } from '../kinds/degradation/shape-deviation.js';
import { guardBand } from '../statistics/decision-rules.js';
import type { ShapeZone } from './zones.js';

/** Where a deviation lies, in mm: the point of the scan as it was laid on the part. */
export interface PlacedDeviation {
  /** Positive outside the nominal surface, in mm. */
  readonly deviationMm: number;
  readonly at: readonly [number, number, number];
}

/** What the points of one zone say. */
export interface ZoneDeviations {
  readonly zone: string;
  readonly points: number;
  /** Of points beyond the band of the zone; undefined without one. */
  readonly outside?: number;
  /** The same with a band narrower, and wider, by the uncertainty of a point; undefined where none is stated. */
  readonly outsideNarrow?: number;
  readonly outsideWide?: number;
  /** The same with the guard band of that uncertainty: what may lie outside, and what does so beyond doubt. */
  readonly outsidePerhaps?: number;
  readonly outsideSurely?: number;
  readonly meanMm: number;
  readonly rmsMm: number;
  /** By their share: 1, 5, 25, 50, 75, 95 and 99 of 100 points lie at most so far out. */
  readonly percentilesMm: Readonly<Record<(typeof PERCENTILES)[number], number>>;
  /** The point farthest beyond the band, or farthest from the surface without one. */
  readonly worst: PlacedDeviation;
  /** Of the point farthest from the surface, whatever the band. */
  readonly farthestMm: number;
  /** Of the surface of the zone that has a point near, 0..1. */
  readonly scannedShare?: number;
}

/** What the profile of a zone is judged with. */
const CONFIDENCE = 0.95;

export const PERCENTILES = ['1', '5', '25', '50', '75', '95', '99'] as const;

/** Steps into which deviations are sorted, in mm: the first of them that takes no more memory than `MOST_STEPS`. */
const STEPS = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1];
const MOST_STEPS = 40_000;

export const stepOf = (reach: number): number =>
  STEPS.find((step) => (2 * reach) / step <= MOST_STEPS) ?? (2 * reach) / MOST_STEPS;

/** Takes the deviations of one zone one by one, in whatever number, in the same memory. */
export class DeviationCount {
  private points = 0;
  private outside = 0;
  private outsideNarrow = 0;
  private outsideWide = 0;
  private outsidePerhaps = 0;
  private outsideSurely = 0;
  private farthest = 0;
  private sum = 0;
  private squares = 0;
  private worst: PlacedDeviation | undefined;
  private excess = Number.NEGATIVE_INFINITY;
  private readonly guard: number;
  private readonly step: number;
  private readonly steps: Uint32Array;

  constructor(
    private readonly zone: Pick<ShapeZone, 'zone' | 'outsideMm' | 'insideMm'>,
    private readonly reach: number,
    private readonly uncertaintyMm?: number,
  ) {
    this.guard = guardBand(uncertaintyMm ?? 0, CONFIDENCE);
    this.step = stepOf(reach);
    this.steps = new Uint32Array(Math.ceil((2 * reach) / this.step) + 2);
  }

  add(deviation: number, x: number, y: number, z: number): void {
    const { outsideMm, insideMm } = this.zone;
    this.points += 1;
    this.sum += deviation;
    this.squares += deviation * deviation;
    this.steps[Math.floor((deviation + this.reach) / this.step)]! += 1;
    this.farthest = Math.max(this.farthest, Math.abs(deviation));
    const excess = beyondBand(deviation, outsideMm ?? 0, insideMm ?? 0);
    if (outsideMm !== undefined) {
      const { uncertaintyMm = 0, guard } = this;
      if (excess > 0) this.outside += 1;
      if (excess > -uncertaintyMm) this.outsideNarrow += 1;
      if (excess > uncertaintyMm) this.outsideWide += 1;
      if (excess > -guard) this.outsidePerhaps += 1;
      if (excess > guard) this.outsideSurely += 1;
    }
    if (excess <= this.excess) return;
    this.excess = excess;
    this.worst = { deviationMm: deviation, at: [x, y, z] };
  }

  /** Undefined without a point. */
  told(): ZoneDeviations | undefined {
    const { points, worst, outside, outsideNarrow, outsideWide, outsidePerhaps, outsideSurely, farthest } = this;
    if (worst === undefined) return undefined;
    const { zone, outsideMm } = this.zone;
    return {
      zone,
      points,
      ...(outsideMm === undefined ? {} : { outside }),
      ...(outsideMm === undefined || this.uncertaintyMm === undefined
        ? {}
        : { outsideNarrow, outsideWide, outsidePerhaps, outsideSurely }),
      meanMm: this.sum / points,
      rmsMm: Math.sqrt(this.squares / points),
      percentilesMm: Object.fromEntries(
        PERCENTILES.map((share) => [share, this.percentile(Number(share) / 100)]),
      ) as ZoneDeviations['percentilesMm'],
      worst,
      farthestMm: farthest,
    };
  }

  /** The middle of the step in which the deviation lies up to which there are so many of all points. */
  private percentile(share: number): number {
    const wanted = Math.max(1, Math.ceil(share * this.points));
    let count = 0;
    let place = 0;
    while (count + this.steps[place]! < wanted) count += this.steps[place++]!;
    return (place + 0.5) * this.step - this.reach;
  }
}
