import { Coverage, type ZoneGrid } from './coverage.js';
import { DeviationCount, type ZoneDeviations } from './deviations.js';
import type { SideViews } from './side-views.js';
import type { StockSurface } from './stock-surface.js';
import type { Surface } from './surface.js';
import { isInZone, type ShapeZone } from './zones.js';

/** Of an unsound scan few points lie out of reach, and most of the others near: what was laid on another part lies all about. */
const MOST_UNREACHED = 0.5;
const MOST_SPREAD = 0.3;

export interface MeasuredAgainst {
  readonly surface: Surface;
  readonly zones: readonly ShapeZone[];
  /** Surface of each zone, and of what of it is of the stock. */
  readonly grids: readonly (ZoneGrid | undefined)[];
  readonly stockGrids: readonly (ZoneGrid | undefined)[];
  readonly stock: StockSurface | undefined;
  readonly reach: number;
  readonly near: number;
  readonly uncertaintyMm: number | undefined;
}

/** Deviations of points in one alignment: zone by zone, and apart from them what is of the stock that was built on. */
export class Deviations {
  unreached = 0;
  private readonly all: DeviationCount;
  private readonly added: readonly ZoneCount[];
  private readonly kept: readonly ZoneCount[];

  constructor(private readonly against: MeasuredAgainst) {
    const { zones, grids, stockGrids, stock, reach, uncertaintyMm } = against;
    const counts = (of: readonly (ZoneGrid | undefined)[]): ZoneCount[] =>
      zones.map((zone, index) => ({
        count: new DeviationCount(zone, reach, uncertaintyMm),
        coverage: new Coverage(of[index]),
      }));
    this.all = new DeviationCount({ zone: '' }, reach);
    this.added = counts(grids);
    this.kept = stock === undefined ? [] : counts(stockGrids);
  }

  add(x: number, y: number, z: number, views: SideViews | undefined): void {
    const { surface, zones, stock, reach, near } = this.against;
    if (!surface.nearest(x, y, z, reach)) {
      this.unreached += 1;
      return;
    }
    const deviation = surface.signed;
    this.all.add(deviation, x, y, z);
    views?.add(deviation, surface.x, surface.y, surface.z);
    const counts = stock?.holds(surface.x, surface.y, surface.z) ? this.kept : this.added;
    // The mesh of a zone is another surface, which keeps its own nearest place.
    for (let index = 0; index < zones.length; index += 1) {
      if (!isInZone(zones[index]!, surface.x, surface.y, surface.z, near)) continue;
      counts[index]!.count.add(deviation, x, y, z);
      counts[index]!.coverage.add(surface.x, surface.y, surface.z, surface.facing);
    }
  }

  get rmsMm(): number {
    return this.all.told()?.rmsMm ?? 0;
  }

  get isElsewhere(): boolean {
    const points = this.unreached + (this.all.told()?.points ?? 0);
    return this.unreached > MOST_UNREACHED * points || this.rmsMm > MOST_SPREAD * this.against.reach;
  }

  told() {
    return {
      zones: toldOf(this.added),
      ...(this.against.stock === undefined ? {} : { stock: toldOf(this.kept) }),
      all: this.all.told(),
      unreached: this.unreached,
    };
  }
}

interface ZoneCount {
  readonly count: DeviationCount;
  readonly coverage: Coverage;
}

const toldOf = (counts: readonly ZoneCount[]): ZoneDeviations[] =>
  counts.flatMap(({ count, coverage: { share } }) => {
    const told = count.told();
    return told === undefined ? [] : [{ ...told, ...(share === undefined ? {} : { scannedShare: share }) }];
  });
