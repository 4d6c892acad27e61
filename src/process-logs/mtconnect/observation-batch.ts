import { BadInputError } from '../../base/errors.js';
import { MOST } from '../../base/limits.js';
import { refused } from './document-parser.js';
import type { Observation } from './observation.js';
import { isInOrder, orderOf } from './order-of.js';
import { SpilledRuns } from './spilled-runs.js';

const FIRST_CAPACITY = 4096;
/** More than so many wait on disk. */
const IN_MEMORY = 1 << 18;
const TEXT = 't';
const CONDITION = 'c';

/** Sees the sequence numbers of a document in their order. */
type SeeSequence = (sequence: number, timeUs: number, line: number) => void;

/**
 * The observations of one document, and those of earlier ones that wait for it. A document lists them by component and
 * data item; here they are brought into the order of time. Numbers lie in arrays of numbers; where a document is larger than
 * what is held in memory, sorted runs of it lie on disk and are merged, so that memory does not grow with the document.
 */
export class ObservationBatch {
  /** Of what lies in memory. */
  private count = 0;
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
  /** Of what is new in this document, where it was asked and nothing of it lies on disk. */
  private sequenceOrder: Uint32Array | null = null;
  private next = 0;
  /** How many at the beginning were in earlier documents. */
  private carried = 0;
  private untilUs = Number.NEGATIVE_INFINITY;
  /** Of what is new in this document. */
  private earliest = Number.NaN;
  private lowestSequence = Number.POSITIVE_INFINITY;
  private lowestUs = Number.NaN;

  private readonly byTime: SpilledRuns;
  private readonly bySequence: SpilledRuns;

  /** The file that is being read. */
  reading = 0;

  /**
   * @param fileNames of the recording.
   * @param beside a file in whose folder the rest lies; among temporary files when undefined.
   * @param inMemory so many observations are held in memory at once.
   */
  constructor(
    private readonly fileNames: readonly string[],
    beside: string | undefined,
    private readonly inMemory = IN_MEMORY,
  ) {
    this.byTime = new SpilledRuns(beside, 'time');
    this.bySequence = new SpilledRuns(beside, 'sequence');
  }

  get isEmpty(): boolean {
    return this.count === 0 && this.byTime.isEmpty;
  }

  seeItem(dataItem: string, line: number): void {
    if (this.repeatsDataItem) return;
    if (this.items.has(dataItem)) this.repeatsDataItem = true;
    else if (this.items.size < MOST.streamDataItems) this.items.add(dataItem);
    else {
      const expected = `at most ${MOST.streamDataItems} data items in one document`;
      throw new BadInputError([refused(this.fileNames[this.reading]!, line, 'mtconnect-size', 'more', expected)]);
    }
  }

  /** @returns the index of the new one, at which what else is to be kept of it is put at once. */
  add(timeUs: number, sequence: number, role: number, value: number, line: number): number {
    if (this.count >= this.inMemory) this.spill();
    if (this.count === this.timeUs.length) this.grow();
    const at = this.count;
    this.timeUs[at] = timeUs;
    this.sequence[at] = sequence;
    this.role[at] = role;
    this.value[at] = value;
    this.line[at] = line;
    this.file[at] = this.reading;
    this.count += 1;
    if (!(timeUs >= this.earliest)) this.earliest = timeUs;
    if (sequence < this.lowestSequence || (sequence === this.lowestSequence && timeUs < this.lowestUs)) {
      this.lowestSequence = sequence;
      this.lowestUs = timeUs;
    }
    return at;
  }

  /**
   * Puts the observations into the order of time, and of sequence where times are equal.
   * @param untilUs later ones wait for the next document.
   */
  settle(untilUs: number): void {
    this.untilUs = untilUs;
    if (this.byTime.isEmpty) {
      const { sequenceOrder, count } = this;
      // The order of sequence is nearly always that of time.
      const isOrder = sequenceOrder?.length === count && isInOrder(sequenceOrder, this.timeUs, this.sequence);
      this.order = isOrder ? sequenceOrder : orderOf(0, count, this.timeUs, this.sequence);
      this.next = 0;
      return;
    }
    this.spillByTime();
    this.load();
  }

  /** What is new in this document, in the order of sequence. */
  eachBySequence(see: SeeSequence): void {
    if (this.bySequence.isEmpty) {
      const order = orderOf(this.carried, this.count, this.sequence, this.timeUs);
      for (const at of order) see(this.sequence[at]!, this.timeUs[at]!, this.line[at]!);
      this.sequenceOrder = order;
      return;
    }
    // What is added from here on is no observation of the document.
    this.spill();
    for (let one = this.bySequence.next(); one; one = this.bySequence.next()) see(one.sequence, one.timeUs, one.line);
  }

  /** Earliest time among what is new in this document; NaN when nothing is. */
  earliestUs(): number {
    return this.earliest;
  }

  /** Time of the lowest sequence number among what is new in this document; NaN when nothing is. */
  lowestSequenceUs(): number {
    return this.lowestUs;
  }

  /** Index of the next observation in the order of time; −1 behind the last that waits for nothing. */
  peek(): number {
    if (this.next >= this.order.length && !(this.next > 0 && this.load())) return -1;
    const at = this.order[this.next]!;
    return this.timeUs[at]! <= this.untilUs ? at : -1;
  }

  skip(): void {
    this.next += 1;
  }

  /** Makes room for the next document: only what waits for it stays. */
  clear(): void {
    const waiting = this.order.subarray(this.next);
    const pick = <T extends Float64Array | Int32Array>(values: T): void => {
      values.set(Array.from(waiting, (at) => values[at]!));
    };
    for (const values of [this.timeUs, this.sequence, this.role, this.value, this.line, this.file]) pick(values);
    this.texts = moved(this.texts, waiting);
    this.conditions = moved(this.conditions, waiting);
    this.count = waiting.length;
    this.carried = waiting.length;
    this.next = 0;
    this.order = new Uint32Array(0);
    this.sequenceOrder = null;
    this.items.clear();
    this.repeatsDataItem = false;
    this.bySequence.clear();
    this.earliest = Number.NaN;
    this.lowestSequence = Number.POSITIVE_INFINITY;
    this.lowestUs = Number.NaN;
  }

  /** Lets go of what lies on disk. */
  close(): void {
    this.byTime.close();
    this.bySequence.close();
  }

  /** Writes what lies in memory to disk: once where it is in both orders, as it nearly always is. */
  private spill(): void {
    const { carried, count } = this;
    const order = orderOf(0, count, this.timeUs, this.sequence);
    const isShared = carried === 0 && isInOrder(order, this.sequence, this.timeUs);
    if (!isShared) this.bySequence.write(this, orderOf(carried, count, this.sequence, this.timeUs), NO_TEXT);
    const run = this.byTime.write(this, order, (at) => this.extraAt(at));
    if (isShared && run !== undefined) this.bySequence.share(run);
    this.forget();
  }

  private spillByTime(): void {
    const order = orderOf(0, this.count, this.timeUs, this.sequence);
    this.byTime.write(this, order, (at) => this.extraAt(at));
    this.forget();
  }

  private forget(): void {
    this.texts.clear();
    this.conditions.clear();
    this.count = 0;
    this.carried = 0;
  }

  private extraAt(at: number): string {
    const text = this.texts.get(at);
    if (text !== undefined) return TEXT + text;
    const condition = this.conditions.get(at);
    return condition === undefined ? '' : CONDITION + JSON.stringify({ ...condition, entries: null });
  }

  /** Takes the next of what lies on disk into memory, in order. @returns false when there is none. */
  private load(): boolean {
    this.texts.clear();
    this.conditions.clear();
    this.count = 0;
    for (let one = this.byTime.next(); one; one = this.count < this.inMemory ? this.byTime.next() : undefined) {
      if (this.count === this.timeUs.length) this.grow();
      const at = this.count;
      this.timeUs[at] = one.timeUs;
      this.sequence[at] = one.sequence;
      this.role[at] = one.role;
      this.value[at] = one.value;
      this.line[at] = one.line;
      this.file[at] = one.file;
      if (one.extra.startsWith(TEXT)) this.texts.set(at, one.extra.slice(1));
      else if (one.extra !== '') this.conditions.set(at, JSON.parse(one.extra.slice(1)) as Observation);
      this.count += 1;
    }
    this.carried = this.count;
    this.order = new Uint32Array(this.count);
    for (let at = 0; at < this.count; at += 1) this.order[at] = at;
    this.next = 0;
    return this.count > 0;
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

const NO_TEXT = (): string => '';

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
