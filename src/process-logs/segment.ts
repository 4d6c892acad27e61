import type { ExcursionWatch } from './excursion-watch.js';
import type { Outline } from './outline.js';
import type { HeldRow } from './row.js';
import type { ChannelStatistics, Stretch } from './stretch.js';
import type { WindowSet } from './window-table.js';

/** What stands in `sums` for each channel, one behind the other: one array is faster to walk than six. */
const MIN = 0;
const MAX = 1;
/** A value near those to come, so that sums of differences from it stay small. */
const ORIGIN = 2;
const SUM = 3;
const SQUARES = 4;
/** Sum of difference × microseconds. */
const WEIGHTED = 5;
const SUMS = 6;

/**
 * Sums over successive rows of one stretch inside one bucket of the outline. Only this runs for every value; stretch and
 * outline are brought up to date when the segment ends.
 */
export class Segment {
  private rows = 0;
  private heldUs = 0;
  private readonly sums: Float64Array;
  private readonly missing: Float64Array;
  private readonly missingUs: Float64Array;

  constructor(
    private readonly channels: number,
    private readonly watch: ExcursionWatch,
  ) {
    this.sums = new Float64Array(channels * SUMS);
    this.missing = new Float64Array(channels);
    this.missingUs = new Float64Array(channels);
    this.clear();
  }

  /** Counts one row that has held for `row.forUs`, and hands what leaves its window to the watch. */
  add(values: Float64Array, row: HeldRow, windows: WindowSet): void {
    const { sums, channels } = this;
    const { busy } = this.watch;
    const { narrowest } = windows;
    const { forUs } = row;
    let at = 0;
    for (let channel = 0; channel < channels; channel += 1, at += SUMS) {
      const value = values[channel]!;
      // A missing value is not inside either.
      const isInside = value >= narrowest[2 * channel]! && value <= narrowest[2 * channel + 1]!;
      if (!isInside || busy[channel] !== 0) {
        if (Number.isNaN(value)) {
          this.miss(channel, row, windows);
          continue;
        }
        this.watch.look(channel, value, row, windows);
      }
      if (value < sums[at + MIN]!) sums[at + MIN] = value;
      if (value > sums[at + MAX]!) sums[at + MAX] = value;
      const difference = value - sums[at + ORIGIN]!;
      sums[at + SUM]! += difference;
      sums[at + SQUARES]! += difference * difference;
      sums[at + WEIGHTED]! += difference * forUs;
    }
    this.rows += 1;
    this.heldUs += forUs;
  }

  /** Ends the segment: brings stretch and outline up to date and starts anew. */
  close(stretch: Stretch, outline: Outline): void {
    if (this.rows === 0) return;
    outline.see(stretch.step);
    for (let channel = 0; channel < this.channels; channel += 1) {
      const n = this.rows - this.missing[channel]!;
      if (n > 0) this.closeChannel(channel, n, stretch.statistics[channel]!, outline);
    }
    this.clear();
  }

  private closeChannel(channel: number, n: number, statistics: ChannelStatistics, outline: Outline): void {
    const { sums } = this;
    const at = channel * SUMS;
    const min = sums[at + MIN]!;
    const max = sums[at + MAX]!;
    const origin = sums[at + ORIGIN]!;
    const sum = sums[at + SUM]!;
    const shift = sum / n;
    const observedUs = this.heldUs - this.missingUs[channel]!;
    const squaredDeviations = Math.max(0, sums[at + SQUARES]! - sum * shift);
    const timeWeightedMean = observedUs > 0 ? origin + sums[at + WEIGHTED]! / observedUs : 0;
    statistics.add(n, origin + shift, squaredDeviations, timeWeightedMean, observedUs);
    statistics.min = Math.min(statistics.min, min);
    statistics.max = Math.max(statistics.max, max);
    outline.add(channel, min, max);
    sums[at + ORIGIN] = origin + shift;
  }

  private miss(channel: number, row: HeldRow, windows: WindowSet): void {
    this.missing[channel]! += 1;
    this.missingUs[channel]! += row.forUs;
    this.watch.miss(channel, row, windows);
  }

  /** The origins stay: the values to come are near those that came. */
  private clear(): void {
    this.rows = 0;
    this.heldUs = 0;
    const { sums, missing, missingUs } = this;
    for (let channel = 0, at = 0; channel < this.channels; channel += 1, at += SUMS) {
      missing[channel] = 0;
      missingUs[channel] = 0;
      sums[at + MIN] = Number.POSITIVE_INFINITY;
      sums[at + MAX] = Number.NEGATIVE_INFINITY;
      sums[at + SUM] = 0;
      sums[at + SQUARES] = 0;
      sums[at + WEIGHTED] = 0;
    }
  }
}
