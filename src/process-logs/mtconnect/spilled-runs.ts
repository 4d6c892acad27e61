import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { RunCursor, type SpilledRecord, type SpilledRun } from './run-cursor.js';
import { HEAD_BYTES, padded } from './run-layout.js';

/** Observations as columns of numbers, by index. */
export interface Columns {
  readonly timeUs: Float64Array;
  readonly sequence: Float64Array;
  readonly value: Float64Array;
  readonly role: Int32Array;
  readonly line: Int32Array;
  readonly file: Int32Array;
}

const WRITE_BYTES = 1 << 20;

/**
 * Runs of records on disk, each in one order, and what they are when they are merged: by time and then sequence, or by sequence
 * and then time. The file has no name any more once it is open, so that nothing is left of it whatever ends the process.
 */
export class SpilledRuns {
  private handle: number | null = null;
  private size = 0;
  private written = 0;
  private runs: SpilledRun[] = [];
  /** A heap: each cursor comes before those at twice its place and one or two more. */
  private heap: RunCursor[] = [];
  /** The first of the heap was told, and moves on before anything else is asked. */
  private isTold = false;
  private buffer = new ArrayBuffer(0);

  /**
   * @param beside a file in whose folder the runs lie; among temporary files when undefined.
   * @param by what the records are in the order of.
   */
  constructor(
    private readonly beside: string | undefined,
    private readonly by: 'time' | 'sequence',
  ) {}

  get isEmpty(): boolean {
    this.moveOn();
    return this.runs.length === 0 && this.heap.length === 0;
  }

  /**
   * Writes records in their order.
   * @param extraAt a text that belongs to the record of an index; empty for none.
   * @returns where they lie; undefined when there are none.
   */
  write(columns: Columns, order: Uint32Array, extraAt: (index: number) => string): SpilledRun | undefined {
    this.stopMerging();
    if (order.length === 0) return undefined;
    this.handle ??= anonymousFile(this.beside === undefined ? os.tmpdir() : path.dirname(this.beside));
    const start = this.size;
    if (this.buffer.byteLength === 0) this.buffer = new ArrayBuffer(WRITE_BYTES);
    let { buffer } = this;
    let doubles = new Float64Array(buffer);
    let words = new Int32Array(buffer);
    let used = 0;
    for (let index = 0; index < order.length; index += 1) {
      const at = order[index]!;
      const text = extraAt(at);
      const extra = text === '' ? 0 : Buffer.byteLength(text);
      const size = HEAD_BYTES + padded(extra);
      if (used + size > buffer.byteLength) {
        this.append(buffer, used);
        used = 0;
        if (size > buffer.byteLength) {
          buffer = new ArrayBuffer(size);
          doubles = new Float64Array(buffer);
          words = new Int32Array(buffer);
        }
      }
      const double = used / 8;
      const word = used / 4 + 6;
      doubles[double] = columns.timeUs[at]!;
      doubles[double + 1] = columns.sequence[at]!;
      doubles[double + 2] = columns.value[at]!;
      words[word] = columns.role[at]!;
      words[word + 1] = columns.line[at]!;
      words[word + 2] = columns.file[at]!;
      words[word + 3] = extra;
      if (extra > 0) Buffer.from(buffer, used + HEAD_BYTES, extra).write(text);
      used += size;
    }
    this.append(buffer, used);
    return this.keep({ handle: this.handle, at: start, end: this.size });
  }

  /** Takes a run that lies in another file, and is in this order too. It has to be read before that file is written anew. */
  share(run: SpilledRun): void {
    this.stopMerging();
    this.keep(run);
  }

  /** The next of all records in order; it is only valid until anything else is asked. Undefined when there is none. */
  next(): Readonly<SpilledRecord> | undefined {
    this.moveOn();
    if (this.runs.length > 0) this.beginMerging();
    const first = this.heap[0];
    this.isTold = first !== undefined;
    return first?.record;
  }

  /** Forgets all of it. */
  clear(): void {
    this.runs = [];
    this.heap = [];
    this.isTold = false;
    this.size = 0;
  }

  close(): void {
    this.clear();
    if (this.handle !== null) fs.closeSync(this.handle);
    this.handle = null;
    this.buffer = new ArrayBuffer(0);
  }

  private keep(run: Omit<SpilledRun, 'ordinal'>): SpilledRun {
    this.written += 1;
    const kept = { ...run, ordinal: this.written };
    this.runs.push(kept);
    return kept;
  }

  private append(buffer: ArrayBuffer, length: number): void {
    const bytes = new Uint8Array(buffer, 0, length);
    for (let done = 0; done < length; ) {
      done += fs.writeSync(this.handle!, bytes, done, length - done, this.size + done);
    }
    this.size += length;
  }

  private beginMerging(): void {
    this.heap.push(...this.runs.map((run) => new RunCursor(run, this.by)));
    this.runs = [];
    for (let at = (this.heap.length >> 1) - 1; at >= 0; at -= 1) this.sink(at);
  }

  /** What was not taken of a run is a run. */
  private stopMerging(): void {
    this.moveOn();
    this.runs.push(...this.heap.map(({ rest }) => rest));
    this.heap = [];
  }

  private moveOn(): void {
    if (!this.isTold) return;
    this.isTold = false;
    const { heap } = this;
    if (!heap[0]!.advance()) {
      const last = heap.pop()!;
      if (heap.length > 0) heap[0] = last;
      // Nothing of the file is needed any more: it is written from its beginning again.
      else if (this.runs.length === 0) this.size = 0;
    }
    if (heap.length > 1) this.sink(0);
  }

  /** Lets the cursor at a place of the heap sink to where none below comes before it. */
  private sink(place: number): void {
    const { heap } = this;
    const sinking = heap[place]!;
    let at = place;
    for (;;) {
      let below = 2 * at + 1;
      if (below >= heap.length) break;
      if (below + 1 < heap.length && heap[below]!.isBehind(heap[below + 1]!)) below += 1;
      if (!sinking.isBehind(heap[below]!)) break;
      heap[at] = heap[below]!;
      at = below;
    }
    heap[at] = sinking;
  }
}

function anonymousFile(folder: string): number {
  const file = path.join(fs.mkdtempSync(path.join(folder, 'lotwright-runs-')), 'runs');
  const handle = fs.openSync(file, 'wx+', 0o600);
  fs.rmSync(path.dirname(file), { recursive: true });
  return handle;
}
