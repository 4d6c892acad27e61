import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';

/** What is kept of an observation: numbers, and a text where one is needed. */
export interface SpilledRecord {
  timeUs: number;
  sequence: number;
  value: number;
  role: number;
  line: number;
  file: number;
  extra: string;
}

interface Run {
  /** Where what was not read of it begins and ends in the file. */
  at: number;
  readonly end: number;
}

const HEAD_BYTES = 40;
const WRITE_BYTES = 1 << 20;
const READ_BYTES = 1 << 16;

/**
 * Runs of records on disk, each in one order, and what they are when they are merged. The file has no name any more once it is
 * open, so that nothing is left of it whatever ends the process.
 */
export class SpilledRuns {
  private handle: number | null = null;
  private size = 0;
  private runs: Run[] = [];
  private cursors: RunCursor[] = [];

  /**
   * @param beside a file in whose folder the runs lie; among temporary files when undefined.
   * @param isBehind whether the first of two records comes after the second.
   */
  constructor(
    private readonly beside: string | undefined,
    private readonly isBehind: (a: SpilledRecord, b: SpilledRecord) => boolean,
  ) {}

  get isEmpty(): boolean {
    return this.runs.length === 0 && this.cursors.length === 0;
  }

  /** Writes records that are in order already. */
  write(records: Iterable<Readonly<SpilledRecord>>): void {
    this.stopMerging();
    this.handle ??= anonymousFile(this.beside === undefined ? os.tmpdir() : path.dirname(this.beside));
    const start = this.size;
    let buffer = Buffer.allocUnsafe(WRITE_BYTES);
    let used = 0;
    for (const record of records) {
      const extra = record.extra === '' ? 0 : Buffer.byteLength(record.extra);
      if (used + HEAD_BYTES + extra > buffer.length) {
        this.append(buffer.subarray(0, used));
        used = 0;
        if (HEAD_BYTES + extra > buffer.length) buffer = Buffer.allocUnsafe(HEAD_BYTES + extra);
      }
      buffer.writeDoubleLE(record.timeUs, used);
      buffer.writeDoubleLE(record.sequence, used + 8);
      buffer.writeDoubleLE(record.value, used + 16);
      buffer.writeInt32LE(record.role, used + 24);
      buffer.writeInt32LE(record.line, used + 28);
      buffer.writeInt32LE(record.file, used + 32);
      buffer.writeInt32LE(extra, used + 36);
      if (extra > 0) buffer.write(record.extra, used + HEAD_BYTES);
      used += HEAD_BYTES + extra;
    }
    this.append(buffer.subarray(0, used));
    if (this.size > start) this.runs.push({ at: start, end: this.size });
  }

  /** The next of all records in order; it is only valid until the one after it. Undefined when there is none. */
  next(): Readonly<SpilledRecord> | undefined {
    if (this.runs.length > 0) this.beginMerging();
    let first: RunCursor | undefined;
    for (const cursor of this.cursors) {
      if (first === undefined || this.isBehind(first.record, cursor.record)) first = cursor;
    }
    if (first === undefined) return undefined;
    const taken = { ...first.record };
    if (!first.advance()) {
      this.cursors = this.cursors.filter((one) => one !== first);
      // Nothing of the file is needed any more: it is written from its beginning again.
      if (this.cursors.length === 0) this.size = 0;
    }
    return taken;
  }

  /** Forgets all of it. */
  clear(): void {
    this.runs = [];
    this.cursors = [];
    this.size = 0;
  }

  close(): void {
    this.clear();
    if (this.handle !== null) fs.closeSync(this.handle);
    this.handle = null;
  }

  private append(bytes: Buffer): void {
    for (let done = 0; done < bytes.length; ) {
      done += fs.writeSync(this.handle!, bytes, done, bytes.length - done, this.size + done);
    }
    this.size += bytes.length;
  }

  private beginMerging(): void {
    this.cursors.push(...this.runs.map((run) => new RunCursor(this.handle!, run)));
    this.runs = [];
  }

  /** What was not taken of a run is a run. */
  private stopMerging(): void {
    this.runs.push(...this.cursors.map(({ rest }) => rest));
    this.cursors = [];
  }
}

class RunCursor {
  readonly record: SpilledRecord = { timeUs: 0, sequence: 0, value: 0, role: 0, line: 0, file: 0, extra: '' };
  private buffer = Buffer.allocUnsafe(READ_BYTES);
  private from = 0;
  private to = 0;
  /** In the file, behind what lies in the buffer. */
  private readAt: number;
  private recordAt: number;

  constructor(
    private readonly handle: number,
    private readonly run: Run,
  ) {
    this.readAt = run.at;
    this.recordAt = run.at;
    this.advance();
  }

  get rest(): Run {
    return { at: this.recordAt, end: this.run.end };
  }

  /** @returns false behind the last record. */
  advance(): boolean {
    const { record } = this;
    this.recordAt = this.readAt - (this.to - this.from);
    if (this.recordAt >= this.run.end) return false;
    this.need(HEAD_BYTES);
    const { buffer, from } = this;
    record.timeUs = buffer.readDoubleLE(from);
    record.sequence = buffer.readDoubleLE(from + 8);
    record.value = buffer.readDoubleLE(from + 16);
    record.role = buffer.readInt32LE(from + 24);
    record.line = buffer.readInt32LE(from + 28);
    record.file = buffer.readInt32LE(from + 32);
    const extra = buffer.readInt32LE(from + 36);
    this.need(HEAD_BYTES + extra);
    const text = this.from + HEAD_BYTES;
    record.extra = extra === 0 ? '' : this.buffer.toString('utf8', text, text + extra);
    this.from = text + extra;
    return true;
  }

  private need(count: number): void {
    if (this.to - this.from >= count) return;
    const kept = this.buffer.subarray(this.from, this.to);
    const next = count > this.buffer.length ? Buffer.allocUnsafe(count) : this.buffer;
    kept.copy(next);
    this.buffer = next;
    this.to = kept.length;
    this.from = 0;
    while (this.to < count) {
      const wanted = Math.min(this.buffer.length - this.to, this.run.end - this.readAt);
      const got = fs.readSync(this.handle, this.buffer, this.to, wanted, this.readAt);
      if (got === 0) throw new Error('a temporary file is shorter than what was written to it');
      this.to += got;
      this.readAt += got;
    }
  }
}

function anonymousFile(folder: string): number {
  const file = path.join(fs.mkdtempSync(path.join(folder, 'lotwright-runs-')), 'runs');
  const handle = fs.openSync(file, 'wx+', 0o600);
  fs.rmSync(path.dirname(file), { recursive: true });
  return handle;
}
