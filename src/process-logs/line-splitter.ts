import { LINE_FEED } from './bytes.js';

/** Longer lines are never a row of a log; they are counted and skipped without being kept. */
const LONGEST_LINE = 65_536;

export interface LineSink {
  /** One line without its line feed: `bytes` from `start` to `end`. The bytes are only valid during the call. */
  line(bytes: Uint8Array, start: number, end: number): void;
  tooLongLine(): void;
  /** What stands after the last line feed. */
  unfinishedLine(bytes: Uint8Array): void;
}

/** Cuts a stream of bytes into lines, wherever the chunks begin and end. Keeps at most one line. */
export class LineSplitter {
  private rest = new Uint8Array(0);
  private isTooLong = false;

  constructor(private readonly sink: LineSink) {}

  push(chunk: Uint8Array): void {
    const buffer = Buffer.from(chunk.buffer, chunk.byteOffset, chunk.length);
    let start = 0;
    if (this.rest.length > 0) {
      const end = buffer.indexOf(LINE_FEED);
      this.keep(joined(this.rest, end < 0 ? chunk : chunk.subarray(0, end)));
      if (end < 0) return;
      const line = this.rest;
      this.rest = new Uint8Array(0);
      this.emit(line, 0, line.length);
      start = end + 1;
    }
    for (let end = buffer.indexOf(LINE_FEED, start); end >= 0; end = buffer.indexOf(LINE_FEED, start)) {
      this.emit(chunk, start, end);
      start = end + 1;
    }
    if (start < chunk.length) this.keep(chunk.slice(start));
  }

  end(): void {
    if (this.rest.length > 0) this.sink.unfinishedLine(this.rest);
    this.rest = new Uint8Array(0);
  }

  private keep(bytes: Uint8Array): void {
    this.isTooLong ||= bytes.length > LONGEST_LINE;
    this.rest = new Uint8Array(bytes.subarray(0, LONGEST_LINE));
  }

  private emit(bytes: Uint8Array, start: number, end: number): void {
    if (this.isTooLong || end - start > LONGEST_LINE) {
      this.isTooLong = false;
      this.sink.tooLongLine();
    } else {
      this.sink.line(bytes, start, end);
    }
  }
}

function joined(first: Uint8Array, second: Uint8Array): Uint8Array {
  const both = new Uint8Array(first.length + second.length);
  both.set(first);
  both.set(second, first.length);
  return both;
}
