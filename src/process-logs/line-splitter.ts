import { MOST } from '../base/limits.js';
import { LINE_FEED } from './bytes.js';

/** Longer lines are never a row of a log; they are counted and skipped without being kept. */
export const LONGEST_LINE = MOST.logLineBytes;

export interface LineSink {
  /** Whole lines: `bytes` from `start` to `end`, the last byte a line feed. They are only valid during the call. */
  lines(bytes: Uint8Array, start: number, end: number): void;
  /** A line that did not fit into what is kept between two chunks. */
  tooLongLine(): void;
  /** What stands after the last line feed. */
  unfinishedLine(bytes: Uint8Array): void;
}

/** Cuts a stream of bytes after line feeds, wherever the chunks begin and end. Keeps at most one line. */
export class LineSplitter {
  private rest = new Uint8Array(0);
  private isTooLong = false;

  constructor(private readonly sink: LineSink) {}

  push(received: Uint8Array): void {
    const buffer = Buffer.from(received.buffer, received.byteOffset, received.length);
    // Always the same class, never a Buffer: code that meets two classes of bytes runs much slower.
    const chunk = new Uint8Array(received.buffer, received.byteOffset, received.length);
    const firstEnd = this.rest.length > 0 ? buffer.indexOf(LINE_FEED) : -1;
    if (this.rest.length > 0) {
      const line = joined(this.rest, firstEnd < 0 ? chunk : chunk.subarray(0, firstEnd + 1));
      this.rest = new Uint8Array(0);
      if (firstEnd < 0) {
        this.keep(line);
        return;
      }
      this.emitKept(line);
    }
    const start = firstEnd + 1;
    const end = buffer.lastIndexOf(LINE_FEED) + 1;
    if (end > start) this.sink.lines(chunk, start, end);
    const restStart = Math.max(start, end);
    if (restStart < chunk.length) this.keep(chunk.slice(restStart));
  }

  end(): void {
    if (this.rest.length > 0) this.sink.unfinishedLine(this.rest);
    this.rest = new Uint8Array(0);
  }

  /** One byte more than a line may have shows that it is too long; the rest of it need not be kept. */
  private keep(bytes: Uint8Array): void {
    this.isTooLong = bytes.length > LONGEST_LINE;
    this.rest = this.isTooLong ? bytes.slice(0, LONGEST_LINE + 1) : new Uint8Array(bytes);
  }

  private emitKept(line: Uint8Array): void {
    if (this.isTooLong) this.sink.tooLongLine();
    else this.sink.lines(line, 0, line.length);
    this.isTooLong = false;
  }
}

function joined(first: Uint8Array, second: Uint8Array): Uint8Array {
  const both = new Uint8Array(first.length + second.length);
  both.set(first);
  both.set(second, first.length);
  return both;
}
