/** One zone with the layers of it that something covers. A null zone is every zone, null layers are every layer. */
export interface Place {
  readonly zone: string | null;
  readonly layerFrom: number | null;
  readonly layerTo: number | null;
}

interface LayerRange {
  from: number;
  to: number;
  everyLayer: boolean;
}

/** Where a finding lies: zones with their layers, and steps. It only grows. */
export class Places {
  private readonly zones = new Map<string | null, LayerRange>();
  private readonly steps = new Set<string>();

  add(zone: string | null, layer: number | null, step?: string): void {
    this.addRange(zone, layer, layer, step);
  }

  addRange(zone: string | null, layerFrom: number | null, layerTo: number | null, step?: string): void {
    if (step !== undefined) this.steps.add(step);
    let range = this.zones.get(zone);
    if (range === undefined) {
      range = { from: Number.POSITIVE_INFINITY, to: Number.NEGATIVE_INFINITY, everyLayer: false };
      this.zones.set(zone, range);
    }
    if (layerFrom === null || layerTo === null) {
      range.everyLayer = true;
      return;
    }
    range.from = Math.min(range.from, layerFrom);
    range.to = Math.max(range.to, layerTo);
  }

  addStep(step: string): void {
    this.steps.add(step);
  }

  addAll(other: Places): void {
    for (const { zone, layerFrom, layerTo } of other.list()) this.addRange(zone, layerFrom, layerTo);
    for (const step of other.steps) this.steps.add(step);
  }

  /** Sorted by zone, every zone first. */
  list(): Place[] {
    return [...this.zones]
      .sort(([a], [b]) => compareText(a ?? '', b ?? ''))
      .map(([zone, range]) => ({
        zone,
        layerFrom: range.everyLayer ? null : range.from,
        layerTo: range.everyLayer ? null : range.to,
      }));
  }

  stepList(): string[] {
    return [...this.steps].sort(compareText);
  }
}

/** By code unit, so that the order does not depend on the language of the machine. */
export function compareText(a: string, b: string): number {
  if (a === b) return 0;
  return a < b ? -1 : 1;
}
