import { BadInputError } from '../../base/errors.js';
import { MOST } from '../../base/limits.js';
import { refused } from './document-parser.js';
import type { Observation } from './observation.js';
import { orderOf } from './order-of.js';

const FIRST_CAPACITY = 4096;

/**
 * The observations of one document, and those of earlier ones that wait for it. A document lists them by component and
 * data item; here they are brought into the order of time. Numbers lie in arrays of numbers, so that a large document
 * needs little memory.
 */
export class ObservationBatch {
  count = 0;
  timeUs = new Float64Array(FIRST_CAPACITY);
  sequence = new Float64Array(FIRST_CAPACITY);
  /** What the observation is for: a place in the caller's table. */
  role = new Int32Array(FIRST_CAPACITY);
  /** The value of a channel. */
  value = new Float64Array(FIRST_CAPACITY);
  line = new Int32Array(FIRST_CAPACITY);
  /** Which file of the recording it stands in. */
  file = new Int32Array(FIRST_CAPACITY);
  /** Texts and conditions of the observations that need more than a number, by index. */
  texts = new Map<number, string>();
  conditions = new Map<number, Observation>();
  /** Whether any data item, conditions apart, is there more than once in this document. */
  repeatsDataItem = false;
  private readonly items = new Set<string>();
  private order: Uint32Array = new Uint32Array(0);
  private next = 0;
  /** How many at the beginning were in earlier documents. */
  private carried = 0;
  private untilUs = Number.NEGATIVE_INFINITY;

  /** The file that is being read. */
  reading = 0;

  /** @param fileNames of the recording. */
  constructor(private readonly fileNames: readonly string[]) {}

  seeItem(dataItem: string): void {
    if (this.repeatsDataItem) return;
    if (this.items.has(dataItem)) this.repeatsDataItem = true;
    else this.items.add(dataItem);
  }

  /** @returns the index of the new one. */
  add(timeUs: number, sequence: number, role: number, value: number, line: number): number {
    if (this.count === MOST.streamObservations) {
      const expected = `at most ${MOST.streamObservations} observations in one document: have the recorder ask for fewer at a time`;
      throw new BadInputError([
        refused(this.fileNames[this.reading]!, line, 'mtconnect-size', 'a longer document', expected),
      ]);
    }
    if (this.count === this.timeUs.length) this.grow();
    const at = this.count;
    this.timeUs[at] = timeUs;
    this.sequence[at] = sequence;
    this.role[at] = role;
    this.value[at] = value;
    this.line[at] = line;
    this.file[at] = this.reading;
    this.count += 1;
    return at;
  }

  /**
   * Puts the observations into the order of time, and of sequence where times are equal.
   * @param untilUs later ones wait for the next document.
   */
  settle(untilUs: number): void {
    this.order = orderOf(0, this.count, this.timeUs, this.sequence);
    this.next = 0;
    this.untilUs = untilUs;
  }

  /** Indices of what is new in this document, in the order of sequence. */
  bySequence(): Uint32Array {
    return orderOf(this.carried, this.count, this.sequence, this.timeUs);
  }

  /** Earliest time among what is new in this document; NaN when nothing is. */
  earliestUs(): number {
    let earliest = Number.NaN;
    for (let at = this.carried; at < this.count; at += 1) {
      if (!(this.timeUs[at]! >= earliest)) earliest = this.timeUs[at]!;
    }
    return earliest;
  }

  /** Index of the next observation in the order of time; −1 behind the last that waits for nothing. */
  peek(): number {
    if (this.next >= this.order.length) return -1;
    const at = this.order[this.next]!;
    return this.timeUs[at]! <= this.untilUs ? at : -1;
  }

  skip(): void {
    this.next += 1;
  }

  /** Makes room for the next document: only what waits for it stays. */
  clear(): void {
    const waiting = this.order.slice(this.next);
    const pick = <T extends Float64Array | Int32Array>(values: T): void => {
      const picked = Array.from(waiting, (at) => values[at]!);
      values.set(picked);
    };
    for (const values of [this.timeUs, this.sequence, this.role, this.value, this.line, this.file]) pick(values);
    this.texts = moved(this.texts, waiting);
    this.conditions = moved(this.conditions, waiting);
    this.count = waiting.length;
    this.carried = waiting.length;
    this.next = 0;
    this.order = new Uint32Array(0);
    this.items.clear();
    this.repeatsDataItem = false;
  }

  private grow(): void {
    const capacity = this.timeUs.length * 2;
    const larger = <T extends Float64Array | Int32Array>(old: T, fresh: T): T => {
      fresh.set(old);
      return fresh;
    };
    this.timeUs = larger(this.timeUs, new Float64Array(capacity));
    this.sequence = larger(this.sequence, new Float64Array(capacity));
    this.role = larger(this.role, new Int32Array(capacity));
    this.value = larger(this.value, new Float64Array(capacity));
    this.line = larger(this.line, new Int32Array(capacity));
    this.file = larger(this.file, new Int32Array(capacity));
  }
}

function moved<T>(items: Map<number, T>, waiting: Uint32Array): Map<number, T> {
  const kept = new Map<number, T>();
  if (items.size > 0) {
    waiting.forEach((from, to) => {
      const item = items.get(from);
      if (item !== undefined) kept.set(to, item);
    });
  }
  return kept;
}
