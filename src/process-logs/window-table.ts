import { isConverted, type ScannedChannel } from './channels.js';
import type { Level } from './levels.js';
import type { ScanPlan, ScanWindow, SetValue, ZoneScope } from './plan.js';

/**
 * What a run outside a limit is a run of: a level, a side, and the terms (minimum duration, integral) on which it counts.
 * Windows with the same terms share a slot, and the tighter limit holds there; others are followed side by side, so that
 * a tight limit that forgives a minute never hides a wide one that forgives nothing.
 */
export interface Slot {
  readonly rule: 'excursion' | 'set value not as in the recipe';
  readonly level: Level;
  readonly isHigh: boolean;
}

/** The limits of one slot, per channel. An infinite limit means none. */
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
  /** The narrowest limits of any slot, low and high for each channel: inside them nothing needs a closer look. */
  readonly narrowest: Float64Array;
  /** 1 for a channel that has any limit here, so that a missing value is missed. */
  readonly watched: Uint8Array;
  /** One for each slot. */
  readonly bands: readonly Band[];
}

/** A converted value may be off by the rounding of one product and one sum; limits give way by this much, relative. */
const CONVERSION_ROUNDING = 1e-12;

/** A limit on one side, ready to be put into its slot. */
interface Limit {
  readonly channel: number;
  readonly slot: number;
  readonly value: number;
  readonly minimumUs: number;
  readonly integralLimit: number;
  readonly scope: 'closure' | ZoneScope;
}

/** Finds the windows that hold at a place; equal sets are made once. */
export class WindowTable {
  readonly slots: readonly Slot[];
  private readonly sets = new Map<string, WindowSet>();
  private readonly limits: readonly Limit[];

  constructor(
    plan: ScanPlan,
    private readonly channels: readonly ScannedChannel[],
  ) {
    const slots: Slot[] = [];
    const slotOf = slotFinder(slots);
    const placeOf = new Map(channels.map(({ name }, index) => [name, index]));
    this.limits = [
      ...plan.windows.flatMap((window) => limitsOf(window, placeOf.get(window.channel), slotOf)),
      ...plan.setValues.flatMap((setValue) => limitsOfSetValue(setValue, placeOf.get(setValue.channel), slotOf)),
    ];
    this.slots = slots;
  }

  /** True when no limit holds anywhere. */
  get isEmpty(): boolean {
    return this.limits.length === 0;
  }

  /**
   * @param layer null for a row without layer: then the windows of all layers of its zone and step hold.
   * @param isClosed whether the chamber is closed, from which on the chamber's windows hold.
   */
  setAt(zone: string, step: string, layer: number | null, isClosed: boolean): WindowSet {
    const held = this.limits
      .map((_, index) => index)
      .filter((index) => holds(this.limits[index]!.scope, zone, step, layer, isClosed));
    const key = held.join(',');
    let set = this.sets.get(key);
    if (set === undefined) {
      set = this.combine(held);
      this.sets.set(key, set);
    }
    return set;
  }

  private combine(held: readonly number[]): WindowSet {
    const { channels, slots } = this;
    const set: WindowSet = {
      narrowest: new Float64Array(channels.length * 2),
      watched: new Uint8Array(channels.length),
      bands: slots.map(({ isHigh }) => emptyBand(channels.length, isHigh)),
    };
    for (const index of held) {
      const limit = this.limits[index]!;
      set.watched[limit.channel] = 1;
      tighten(set.bands[limit.slot]!, limit, channels[limit.channel]!, slots[limit.slot]!.isHigh);
    }
    for (let channel = 0; channel < channels.length; channel += 1) {
      let lowest = Number.NEGATIVE_INFINITY;
      let highest = Number.POSITIVE_INFINITY;
      set.bands.forEach(({ threshold }, slot) => {
        if (slots[slot]!.isHigh) highest = Math.min(highest, threshold[channel]!);
        else lowest = Math.max(lowest, threshold[channel]!);
      });
      set.narrowest[2 * channel] = lowest;
      set.narrowest[2 * channel + 1] = highest;
    }
    return set;
  }
}

function holds(scope: Limit['scope'], zone: string, step: string, layer: number | null, isClosed: boolean): boolean {
  if (scope === 'closure') return isClosed;
  if (scope.zone !== zone || scope.step !== step) return false;
  return layer === null || (layer >= scope.layerFrom && layer <= scope.layerTo);
}

type SlotFinder = (slot: Slot, terms: string) => number;

/** Gives each kind of run its place in `slots`. Channels use the same slots, each for itself. */
function slotFinder(slots: Slot[]): SlotFinder {
  const known = new Map<string, number>();
  return (slot, terms) => {
    const key = [slot.rule, slot.level, slot.isHigh, terms].join('|');
    const found = known.get(key) ?? slots.length;
    if (found === slots.length) {
      known.set(key, found);
      slots.push(slot);
    }
    return found;
  };
}

function limitsOf(window: ScanWindow, channel: number | undefined, slotOf: SlotFinder): Limit[] {
  if (channel === undefined) return [];
  const { level, low, high, minimumMs, integralLimit, scope } = window;
  const never = Number.POSITIVE_INFINITY;
  const counts = {
    minimumUs: minimumMs !== null ? minimumMs * 1000 : integralLimit === null ? 0 : never,
    integralLimit: integralLimit === null ? never : integralLimit * 1_000_000,
  };
  const terms = `${minimumMs} ${integralLimit}`;
  return [
    { value: high, isHigh: true },
    { value: low, isHigh: false },
  ].flatMap(({ value, isHigh }) => {
    if (value === null) return [];
    const slot = slotOf({ rule: 'excursion', level, isHigh }, terms);
    return [{ channel, slot, value, scope, ...counts }];
  });
}

/** A setting must equal the recipe's: both limits are the value itself. */
function limitsOfSetValue({ value, scope }: SetValue, channel: number | undefined, slotOf: SlotFinder): Limit[] {
  if (channel === undefined) return [];
  return [true, false].map((isHigh) => {
    const slot = slotOf({ rule: 'set value not as in the recipe', level: 'action', isHigh }, '');
    return { channel, slot, value, scope, minimumUs: 0, integralLimit: Number.POSITIVE_INFINITY };
  });
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

function tighten(band: Band, limit: Limit, scanned: ScannedChannel, isHigh: boolean): void {
  const { channel, value, minimumUs, integralLimit } = limit;
  const outward = isHigh ? 1 : -1;
  if ((value - band.limit[channel]!) * outward >= 0) return;
  const largest = Math.max(Math.abs(value), Math.abs(scanned.offset));
  const rounding = isConverted(scanned) ? CONVERSION_ROUNDING * largest : 0;
  band.limit[channel] = value;
  band.threshold[channel] = value + outward * rounding;
  band.minimumUs[channel] = minimumUs;
  band.integralLimit[channel] = integralLimit;
}
