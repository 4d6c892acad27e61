import type { ExcursionWatch } from './excursion-watch.js';
import type { Outline } from './outline.js';
import type { HeldRow } from './row.js';
import type { Stretch } from './stretch.js';
import type { WindowSet } from './window-table.js';

/**
 * Sums over successive rows of one stretch inside one bucket of the outline. Only this runs for every value; stretch and
 * outline are brought up to date when the segment ends.
 */
export class Segment {
  private rows = 0;
  private heldUs = 0;
  private readonly min: Float64Array;
  private readonly max: Float64Array;
  /** A value near those to come, so that sums of differences from it stay small. */
  private readonly origin: Float64Array;
  private readonly sum: Float64Array;
  private readonly squares: Float64Array;
  /** Sum of difference × microseconds. */
  private readonly weighted: Float64Array;
  private readonly missing: Float64Array;
  private readonly missingUs: Float64Array;

  constructor(
    private readonly channels: number,
    private readonly watch: ExcursionWatch,
  ) {
    this.min = new Float64Array(channels);
    this.max = new Float64Array(channels);
    this.origin = new Float64Array(channels);
    this.sum = new Float64Array(channels);
    this.squares = new Float64Array(channels);
    this.weighted = new Float64Array(channels);
    this.missing = new Float64Array(channels);
    this.missingUs = new Float64Array(channels);
    this.clear();
  }

  /** Counts one row that has held for `row.forUs`, and hands what leaves its window to the watch. */
  add(values: Float64Array, row: HeldRow, windows: WindowSet): void {
    const { min, max, origin, sum, squares, weighted, channels, watch } = this;
    const { busy } = watch;
    const { low, high } = windows;
    const { forUs } = row;
    for (let channel = 0; channel < channels; channel += 1) {
      const value = values[channel]!;
      if (Number.isNaN(value)) {
        this.missing[channel]! += 1;
        this.missingUs[channel]! += forUs;
        watch.miss(channel, row, windows);
        continue;
      }
      if (value < min[channel]!) min[channel] = value;
      if (value > max[channel]!) max[channel] = value;
      const difference = value - origin[channel]!;
      sum[channel]! += difference;
      squares[channel]! += difference * difference;
      weighted[channel]! += difference * forUs;
      if (value > high[channel]! || value < low[channel]! || busy[channel] !== 0) {
        watch.look(channel, value, row, windows);
      }
    }
    this.rows += 1;
    this.heldUs += forUs;
  }

  /** Ends the segment: brings stretch and outline up to date and starts anew. */
  close(stretch: Stretch, outline: Outline): void {
    if (this.rows === 0) return;
    for (let channel = 0; channel < this.channels; channel += 1) {
      const n = this.rows - this.missing[channel]!;
      if (n === 0) continue;
      const origin = this.origin[channel]!;
      const shift = this.sum[channel]! / n;
      const squaredDeviations = Math.max(0, this.squares[channel]! - this.sum[channel]! * shift);
      const observedUs = this.heldUs - this.missingUs[channel]!;
      const timeWeightedMean = observedUs > 0 ? origin + this.weighted[channel]! / observedUs : 0;
      const statistics = stretch.statistics[channel]!;
      statistics.add(n, origin + shift, squaredDeviations, timeWeightedMean, observedUs);
      statistics.min = Math.min(statistics.min, this.min[channel]!);
      statistics.max = Math.max(statistics.max, this.max[channel]!);
      outline.add(channel, this.min[channel]!, this.max[channel]!);
      this.origin[channel] = origin + shift;
    }
    this.clear();
  }

  private clear(): void {
    this.rows = 0;
    this.heldUs = 0;
    this.min.fill(Number.POSITIVE_INFINITY);
    this.max.fill(Number.NEGATIVE_INFINITY);
    for (const sums of [this.sum, this.squares, this.weighted, this.missing, this.missingUs]) sums.fill(0);
  }
}
