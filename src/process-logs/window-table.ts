import { LEVELS } from './levels.js';
import type { PlannedChannel, ScanPlan, ScanWindow } from './plan.js';

/** Slot of the limits of one level and side: `2 × level` is the high side, `2 × level + 1` the low side. */
export const SLOTS = LEVELS.length * 2;
export const isHighSlot = (slot: number): boolean => slot % 2 === 0;
export const levelOfSlot = (slot: number) => LEVELS[slot >> 1]!;

/** The limits of one level and side, per channel. An infinite limit means none. */
export interface Band {
  readonly limit: Float64Array;
  /** What values are compared with: the limit, moved outwards by rounding where values were converted. */
  readonly threshold: Float64Array;
  readonly minimumUs: Float64Array;
  /** Unit of the channel × microseconds. */
  readonly integralLimit: Float64Array;
}

/** All limits that hold at one zone, step and layer. */
export interface WindowSet {
  /** The narrowest limits of any level, low and high for each channel: inside them nothing needs a closer look. */
  readonly narrowest: Float64Array;
  /** 1 for a channel that has any limit here, so that a missing value is missed. */
  readonly watched: Uint8Array;
  readonly bands: readonly Band[];
}

/** A converted value may be off by the rounding of one product and one sum; limits give way by this much, relative. */
const CONVERSION_ROUNDING = 1e-12;

/** Finds the windows that hold at a place; equal sets are made once. */
export class WindowTable {
  private readonly sets = new Map<string, WindowSet>();
  private readonly windows: readonly { window: ScanWindow; channel: number }[];

  constructor(private readonly plan: ScanPlan) {
    const names = plan.channels.map((channel) => channel.name);
    this.windows = plan.windows
      .map((window) => ({ window, channel: names.indexOf(window.channel) }))
      .filter(({ channel }) => channel >= 0);
  }

  /**
   * @param layer null for a row without layer: then the windows of all layers of its zone and step hold.
   * @param isClosed whether the chamber is closed, from which on the chamber's windows hold.
   */
  setAt(zone: string, step: string, layer: number | null, isClosed: boolean): WindowSet {
    const held = this.windows
      .map((_, index) => index)
      .filter((index) => this.holds(index, zone, step, layer, isClosed));
    const key = held.join(',');
    let set = this.sets.get(key);
    if (set === undefined) {
      set = this.combine(held);
      this.sets.set(key, set);
    }
    return set;
  }

  private holds(index: number, zone: string, step: string, layer: number | null, isClosed: boolean): boolean {
    const { scope } = this.windows[index]!.window;
    if (scope === 'closure') return isClosed;
    if (scope.zone !== zone || scope.step !== step) return false;
    return layer === null || (layer >= scope.layerFrom && layer <= scope.layerTo);
  }

  private combine(held: readonly number[]): WindowSet {
    const { channels } = this.plan;
    const set: WindowSet = {
      narrowest: new Float64Array(channels.length * 2),
      watched: new Uint8Array(channels.length),
      bands: Array.from({ length: SLOTS }, (_, slot) => emptyBand(channels.length, isHighSlot(slot))),
    };
    for (const index of held) {
      const { window, channel } = this.windows[index]!;
      const slot = LEVELS.indexOf(window.level) * 2;
      set.watched[channel] = 1;
      if (window.high !== null) tighten(set.bands[slot]!, channel, window.high, window, channels[channel]!, 1);
      if (window.low !== null) tighten(set.bands[slot + 1]!, channel, window.low, window, channels[channel]!, -1);
    }
    for (let channel = 0; channel < channels.length; channel += 1) {
      const thresholds = (isHigh: boolean) =>
        set.bands.filter((_, slot) => isHighSlot(slot) === isHigh).map(({ threshold }) => threshold[channel]!);
      set.narrowest[2 * channel] = Math.max(...thresholds(false));
      set.narrowest[2 * channel + 1] = Math.min(...thresholds(true));
    }
    return set;
  }
}

function emptyBand(channels: number, isHigh: boolean): Band {
  const none = isHigh ? Number.POSITIVE_INFINITY : Number.NEGATIVE_INFINITY;
  return {
    limit: new Float64Array(channels).fill(none),
    threshold: new Float64Array(channels).fill(none),
    minimumUs: new Float64Array(channels),
    integralLimit: new Float64Array(channels),
  };
}

/** Where several windows of one level hold, the tighter limit wins, with its own minimum and integral. */
function tighten(
  band: Band,
  channel: number,
  limit: number,
  { minimumMs, integralLimit }: ScanWindow,
  { factor, offset }: PlannedChannel,
  outward: 1 | -1,
): void {
  if ((limit - band.limit[channel]!) * outward >= 0) return;
  const isConverted = factor !== 1 || offset !== 0;
  const rounding = isConverted ? CONVERSION_ROUNDING * Math.max(Math.abs(limit), Math.abs(offset)) : 0;
  const never = Number.POSITIVE_INFINITY;
  band.limit[channel] = limit;
  band.threshold[channel] = limit + outward * rounding;
  band.minimumUs[channel] = minimumMs !== null ? minimumMs * 1000 : integralLimit === null ? 0 : never;
  band.integralLimit[channel] = integralLimit === null ? never : integralLimit * 1_000_000;
}
