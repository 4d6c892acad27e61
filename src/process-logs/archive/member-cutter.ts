import { LINE_FEED } from '../bytes.js';

/** A piece that grows longer than this is cut anywhere. */
const LONGEST_PIECE = 4 << 20;

/** Index behind the last byte at which a chunk may be cut; 0 when there is none. */
export type FindCut = (chunk: Uint8Array) => number;

export const behindLastLine: FindCut = (chunk) => chunk.lastIndexOf(LINE_FEED) + 1;

/** An XML document may have no lines at all: between two tags will do. */
export const betweenElements: FindCut = (chunk) =>
  Math.max(behindLastLine(chunk), Buffer.from(chunk.buffer, chunk.byteOffset, chunk.length).lastIndexOf('><') + 1);

/** Cuts text that comes in chunks of any size into pieces that end well. Each piece is a copy of its own. */
export class MemberCutter {
  private rest = new Uint8Array(0);

  constructor(private readonly findCut: FindCut) {}

  /** @returns the text up to the last place for a cut so far; undefined when there is none. */
  push(chunk: Uint8Array): Uint8Array | undefined {
    const end = this.findCut(chunk);
    if (end === 0) {
      this.rest = joined(this.rest, chunk);
      return this.rest.length > LONGEST_PIECE ? this.end() : undefined;
    }
    const piece = joined(this.rest, chunk.subarray(0, end));
    // A copy, also of a Buffer, whose own slice would still look into memory that is about to be read into again.
    this.rest = new Uint8Array(chunk.subarray(end));
    return piece;
  }

  /** What stands behind the last cut; undefined when nothing does. */
  end(): Uint8Array | undefined {
    const { rest } = this;
    this.rest = new Uint8Array(0);
    return rest.length > 0 ? rest : undefined;
  }
}

function joined(first: Uint8Array, second: Uint8Array): Uint8Array<ArrayBuffer> {
  const both = new Uint8Array(first.length + second.length);
  both.set(first);
  both.set(second, first.length);
  return both;
}
