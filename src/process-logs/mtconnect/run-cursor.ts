import fs from 'node:fs';
import { HEAD_BYTES, padded } from './run-layout.js';

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

/** Where records lie in a file, in one order. */
export interface SpilledRun {
  readonly handle: number;
  readonly at: number;
  readonly end: number;
  /** Of equal records, those of the run that was written first come first. */
  readonly ordinal: number;
}

const READ_BYTES = 1 << 16;

/** Reads a run from its beginning. */
export class RunCursor {
  readonly record: SpilledRecord = { timeUs: 0, sequence: 0, value: 0, role: 0, line: 0, file: 0, extra: '' };
  private bytes = new Uint8Array(READ_BYTES);
  private doubles = new Float64Array(this.bytes.buffer);
  private words = new Int32Array(this.bytes.buffer);
  private from = 0;
  private to = 0;
  /** In the file, behind what lies in memory. */
  private readAt: number;
  private recordAt: number;
  /** By what records are in order. */
  private first = 0;
  private second = 0;
  private readonly isByTime: boolean;

  constructor(
    private readonly run: SpilledRun,
    by: 'time' | 'sequence',
  ) {
    this.isByTime = by === 'time';
    this.readAt = run.at;
    this.recordAt = run.at;
    this.advance();
  }

  /** From the record on at which this is. */
  get rest(): SpilledRun {
    return { ...this.run, at: this.recordAt };
  }

  isBehind(other: RunCursor): boolean {
    if (this.first !== other.first) return this.first > other.first;
    if (this.second !== other.second) return this.second > other.second;
    return this.run.ordinal > other.run.ordinal;
  }

  /** @returns false behind the last record. */
  advance(): boolean {
    const { record } = this;
    this.recordAt = this.readAt - (this.to - this.from);
    if (this.recordAt >= this.run.end) return false;
    if (this.to - this.from < HEAD_BYTES) this.need(HEAD_BYTES);
    const double = this.from / 8;
    const word = this.from / 4 + 6;
    const timeUs = this.doubles[double]!;
    const sequence = this.doubles[double + 1]!;
    record.timeUs = timeUs;
    record.sequence = sequence;
    record.value = this.doubles[double + 2]!;
    record.role = this.words[word]!;
    record.line = this.words[word + 1]!;
    record.file = this.words[word + 2]!;
    const extra = this.words[word + 3]!;
    this.first = this.isByTime ? timeUs : sequence;
    this.second = this.isByTime ? sequence : timeUs;
    if (extra === 0) record.extra = '';
    else {
      this.need(HEAD_BYTES + padded(extra));
      const text = this.from + HEAD_BYTES;
      record.extra = Buffer.from(this.bytes.buffer, text, extra).toString('utf8');
    }
    this.from += HEAD_BYTES + padded(extra);
    return true;
  }

  /** Has so many bytes of the run in memory. */
  private need(count: number): void {
    if (this.to - this.from >= count) return;
    const kept = this.bytes.subarray(this.from, this.to);
    if (count > this.bytes.length) {
      const larger = new Uint8Array(padded(count));
      larger.set(kept);
      this.bytes = larger;
      this.doubles = new Float64Array(larger.buffer);
      this.words = new Int32Array(larger.buffer);
    } else this.bytes.copyWithin(0, this.from, this.to);
    this.to -= this.from;
    this.from = 0;
    while (this.to < count) {
      const wanted = Math.min(this.bytes.length - this.to, this.run.end - this.readAt);
      const got = fs.readSync(this.run.handle, this.bytes, this.to, wanted, this.readAt);
      if (got === 0) throw new Error('a temporary file is shorter than what was written to it');
      this.to += got;
      this.readAt += got;
    }
  }
}
