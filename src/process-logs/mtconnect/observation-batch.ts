import { BadInputError } from '../../base/errors.js';
import { MOST } from '../../base/limits.js';
import { refused } from './document-parser.js';
import type { Observation } from './observation.js';

const FIRST_CAPACITY = 4096;

/**
 * The observations of one document. A document lists them by component and data item; here they are brought into the
 * order of time. Numbers lie in arrays of numbers, so that a large document needs little memory.
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
  /** Texts and conditions of the observations that need more than a number, by index. */
  readonly texts = new Map<number, string>();
  readonly conditions = new Map<number, Observation>();
  /** Whether any data item, conditions apart, is there more than once. */
  repeatsDataItem = false;
  private readonly items = new Set<string>();
  private order = new Uint32Array(0);
  private next = 0;

  constructor(private readonly fileName: string) {}

  seeItem(dataItem: string): void {
    if (this.items.has(dataItem)) this.repeatsDataItem = true;
    else this.items.add(dataItem);
  }

  add(timeUs: number, sequence: number, role: number, value: number, line: number): void {
    if (this.count === MOST.streamObservations) {
      const expected = `at most ${MOST.streamObservations} observations in one document: have the recorder ask for fewer at a time`;
      throw new BadInputError([refused(this.fileName, line, 'mtconnect-size', 'a longer document', expected)]);
    }
    if (this.count === this.timeUs.length) this.grow();
    const at = this.count;
    this.timeUs[at] = timeUs;
    this.sequence[at] = sequence;
    this.role[at] = role;
    this.value[at] = value;
    this.line[at] = line;
    this.count += 1;
  }

  /** Puts the observations into the order of time, and of sequence where times are equal. */
  sort(): void {
    const { timeUs, sequence } = this;
    this.order = Uint32Array.from({ length: this.count }, (_, index) => index).sort(
      (a, b) => timeUs[a]! - timeUs[b]! || sequence[a]! - sequence[b]!,
    );
    this.next = 0;
  }

  /** Indices in the order of sequence. */
  bySequence(): Uint32Array {
    const { sequence } = this;
    return Uint32Array.from({ length: this.count }, (_, index) => index).sort((a, b) => sequence[a]! - sequence[b]!);
  }

  /** Index of the next observation in the order of time; −1 behind the last. */
  peek(): number {
    return this.next < this.count ? this.order[this.next]! : -1;
  }

  skip(): void {
    this.next += 1;
  }

  clear(): void {
    this.count = 0;
    this.next = 0;
    this.order = new Uint32Array(0);
    this.texts.clear();
    this.conditions.clear();
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
  }
}
