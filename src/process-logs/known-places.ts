import type { ExpectedZone } from './plan.js';
import { NO_LAYER } from './row-reader.js';

/** Which zone and layer a row speaks of: null is every zone, or every layer, because none or an unknown one is named. */
export interface Covered {
  readonly zone: string | null;
  readonly layer: number | null;
}

/** The zones and layers that the lot knows. What names none of them may have happened to any. */
export class KnownPlaces {
  private readonly zones: ReadonlyMap<string, ExpectedZone>;

  /** @param expected none: every zone and layer is taken as it is named. */
  constructor(expected: readonly ExpectedZone[]) {
    this.zones = new Map(expected.map((zone) => [zone.zone, zone]));
  }

  /** @param layer NO_LAYER when the row names none. */
  covered(zone: string, layer: number): Covered {
    const named = layer === NO_LAYER ? null : layer;
    if (this.zones.size === 0) return { zone: zone === '' ? null : zone, layer: named };
    const known = this.zones.get(zone);
    if (known !== undefined) return { zone, layer: isLayerOf(known, layer) ? named : null };
    // Nobody knows how an unknown zone counts its layers.
    const isLayer = zone === '' && [...this.zones.values()].some((each) => isLayerOf(each, layer));
    return { zone: null, layer: isLayer ? named : null };
  }
}

function isLayerOf({ layerFrom, layerTo }: ExpectedZone, layer: number): boolean {
  return layer >= layerFrom && layer <= layerTo;
}
