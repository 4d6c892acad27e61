import type { Outline as ChannelOutline, StepSpans } from '../dossier/schema.js';
import { reportedValue, type ScannedChannel } from './channels.js';
import { timestampText } from './timestamp.js';

/** Buckets of a channel's outline: more than a plot on a page can show. */
export const OUTLINE_WIDTH = 1024;
/** Further steps are not outlined: a log with so many names none of a recipe. */
const MOST_STEPS = 60;

/**
 * Smallest and largest value of each channel in equal buckets of time. When the log outgrows the buckets, two become
 * one and the width doubles, so that memory is the same for a minute and for a week.
 */
export class Outline {
  private readonly min: Float64Array[];
  private readonly max: Float64Array[];
  /** For each step, which buckets hold a row of it. */
  private readonly steps = new Map<string, Uint8Array>();
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

  /** Notes that rows of a step lie in the bucket. */
  see(step: string): void {
    let buckets = this.steps.get(step);
    if (buckets === undefined) {
      if (this.steps.size === MOST_STEPS) return;
      buckets = new Uint8Array(OUTLINE_WIDTH);
      this.steps.set(step, buckets);
    }
    buckets[this.bucket] = 1;
  }

  /** When each step ran, to the width of a bucket, steps in the order in which the log named them first. */
  stepSpans(): StepSpans[] {
    const at = (bucket: number) => timestampText(this.startUs + bucket * this.bucketUs);
    return [...this.steps].map(([step, buckets]) => ({
      step,
      spans: runsOf(buckets).map(([from, to]) => ({ startedAt: at(from), endedAt: at(to) })),
    }));
  }

  finish(channels: readonly ScannedChannel[]): ChannelOutline[] {
    const used = Number.isNaN(this.startUs) ? 0 : this.bucket + 1;
    return channels.map((scanned, channel) => ({
      channel: scanned.name,
      ucum: scanned.ucum,
      startMs: Number.isNaN(this.startUs) ? 0 : this.startUs / 1000,
      bucketMs: this.bucketUs / 1000,
      min: numbersOrNull(this.min[channel]!.subarray(0, used), scanned),
      max: numbersOrNull(this.max[channel]!.subarray(0, used), scanned),
    }));
  }

  private halve(): void {
    for (const lows of this.min) joinPairs(lows, lower);
    for (const highs of this.max) joinPairs(highs, higher);
    for (const buckets of this.steps.values()) orPairs(buckets);
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

function orPairs(buckets: Uint8Array): void {
  const half = buckets.length / 2;
  for (let index = 0; index < half; index += 1) buckets[index] = buckets[2 * index]! | buckets[2 * index + 1]!;
  buckets.fill(0, half);
}

/** First bucket and the one behind the last, of each run of buckets that are set. */
function runsOf(buckets: Uint8Array): [number, number][] {
  const runs: [number, number][] = [];
  buckets.forEach((isSet, index) => {
    const last = runs.at(-1);
    if (isSet === 0) return;
    if (last?.[1] === index) last[1] = index + 1;
    else runs.push([index, index + 1]);
  });
  return runs;
}

/** NaN stands for an empty bucket and gives way to any value. */
function lower(a: number, b: number): number {
  return Number.isNaN(a) || b < a ? b : a;
}

function higher(a: number, b: number): number {
  return Number.isNaN(a) || b > a ? b : a;
}

function numbersOrNull(values: Float64Array, channel: ScannedChannel): (number | null)[] {
  const numbers: (number | null)[] = [];
  for (const value of values) numbers.push(Number.isNaN(value) ? null : reportedValue(channel, value));
  return numbers;
}
