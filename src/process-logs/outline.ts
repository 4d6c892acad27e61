import type { Outline as ChannelOutline } from '../dossier/schema.js';
import type { PlannedChannel } from './plan.js';

/** Buckets of a channel's outline: more than a plot on a page can show. */
export const OUTLINE_WIDTH = 1024;

/**
 * Smallest and largest value of each channel in equal buckets of time. When the log outgrows the buckets, two become
 * one and the width doubles, so that memory is the same for a minute and for a week.
 */
export class Outline {
  private readonly min: Float64Array[];
  private readonly max: Float64Array[];
  private startUs = Number.NaN;
  private bucketUs: number;
  private bucket = 0;

  constructor(channels: number, nominalUs: number) {
    this.bucketUs = nominalUs;
    this.min = Array.from({ length: channels }, () => new Float64Array(OUTLINE_WIDTH).fill(Number.NaN));
    this.max = Array.from({ length: channels }, () => new Float64Array(OUTLINE_WIDTH).fill(Number.NaN));
  }

  /** Chooses the bucket of a time, which never goes back. @returns the time at which that bucket ends. */
  moveTo(timeUs: number): number {
    if (Number.isNaN(this.startUs)) this.startUs = timeUs;
    while (timeUs >= this.startUs + this.bucketUs * OUTLINE_WIDTH) this.halve();
    this.bucket = Math.floor((timeUs - this.startUs) / this.bucketUs);
    return this.startUs + (this.bucket + 1) * this.bucketUs;
  }

  add(channel: number, min: number, max: number): void {
    const lows = this.min[channel]!;
    const highs = this.max[channel]!;
    lows[this.bucket] = lower(lows[this.bucket]!, min);
    highs[this.bucket] = higher(highs[this.bucket]!, max);
  }

  finish(channels: readonly PlannedChannel[]): ChannelOutline[] {
    const used = Number.isNaN(this.startUs) ? 0 : this.bucket + 1;
    return channels.map(({ name, ucum }, channel) => ({
      channel: name,
      ucum,
      startMs: Number.isNaN(this.startUs) ? 0 : this.startUs / 1000,
      bucketMs: this.bucketUs / 1000,
      min: numbersOrNull(this.min[channel]!.subarray(0, used)),
      max: numbersOrNull(this.max[channel]!.subarray(0, used)),
    }));
  }

  private halve(): void {
    for (const lows of this.min) joinPairs(lows, lower);
    for (const highs of this.max) joinPairs(highs, higher);
    this.bucketUs *= 2;
  }
}

function joinPairs(values: Float64Array, choose: (a: number, b: number) => number): void {
  const half = values.length / 2;
  for (let index = 0; index < half; index += 1) {
    values[index] = choose(values[2 * index]!, values[2 * index + 1]!);
  }
  values.fill(Number.NaN, half);
}

/** NaN stands for an empty bucket and gives way to any value. */
function lower(a: number, b: number): number {
  return Number.isNaN(a) || b < a ? b : a;
}

function higher(a: number, b: number): number {
  return Number.isNaN(a) || b > a ? b : a;
}

function numbersOrNull(values: Float64Array): (number | null)[] {
  return Array.from(values, (value) => (Number.isNaN(value) ? null : value));
}
