import { LINE_FEED } from '../bytes.js';

/** Usual length of a piece: whoever wants a few rows unpacks little more than them. */
const PIECE = 256 << 10;
/** A piece that grows longer than this is cut anywhere. */
const LONGEST_PIECE = 4 << 20;

/** Index behind the last byte at which a chunk may be cut; 0 when there is none. */
export type FindCut = (chunk: Uint8Array) => number;

export const behindLastLine: FindCut = (chunk) => chunk.lastIndexOf(LINE_FEED) + 1;

/** An XML document may have no lines at all: between two tags will do. */
export const betweenElements: FindCut = (chunk) =>
  Math.max(behindLastLine(chunk), Buffer.from(chunk.buffer, chunk.byteOffset, chunk.length).lastIndexOf('><') + 1);

/** Cuts text that comes in chunks of any size into pieces that end well. */
export class MemberCutter {
  private rest = new Uint8Array(0);

  constructor(private readonly findCut: FindCut) {}

  /** @returns the text up to the last place for a cut so far, in pieces that are valid as long as the chunk is. */
  push(chunk: Uint8Array): Uint8Array[] {
    const end = this.findCut(chunk);
    if (end === 0) {
      this.rest = joined(this.rest, chunk);
      return this.rest.length > LONGEST_PIECE ? this.end() : [];
    }
    const { rest } = this;
    // A copy, also of a Buffer, whose own slice would still look into memory that is about to be read into again.
    this.rest = new Uint8Array(chunk.subarray(end));
    if (rest.length === 0) return this.pieces(chunk.subarray(0, end));
    const firstEnd = this.findCut(chunk.subarray(0, Math.min(PIECE, end))) || end;
    return [joined(rest, chunk.subarray(0, firstEnd)), ...this.pieces(chunk.subarray(firstEnd, end))];
  }

  /** What stands behind the last cut. */
  end(): Uint8Array[] {
    const { rest } = this;
    this.rest = new Uint8Array(0);
    return rest.length > 0 ? [rest] : [];
  }

  private pieces(text: Uint8Array): Uint8Array[] {
    const pieces: Uint8Array[] = [];
    for (let start = 0; start < text.length; ) {
      const next = text.subarray(start, start + PIECE);
      const isLast = start + PIECE >= text.length;
      const end = isLast ? next.length : this.findCut(next) || text.length - start;
      pieces.push(text.subarray(start, start + end));
      start += end;
    }
    return pieces;
  }
}

function joined(first: Uint8Array, second: Uint8Array): Uint8Array<ArrayBuffer> {
  const both = new Uint8Array(first.length + second.length);
  both.set(first);
  both.set(second, first.length);
  return both;
}
