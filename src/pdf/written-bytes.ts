const BLOCK_BYTES = 64 * 1024;

/**
 * Bytes of a file in the making. A PDF is written in hundreds of thousands of pieces of some ten bytes, and each array of them
 * would take ten times that: so they are copied together as they come.
 */
export class WrittenBytes {
  private readonly blocks: Uint8Array[] = [];
  private block = new Uint8Array(BLOCK_BYTES);
  private used = 0;

  add(piece: Uint8Array): void {
    if (this.used + piece.length > BLOCK_BYTES) this.closeBlock();
    if (piece.length > BLOCK_BYTES) this.blocks.push(piece);
    else {
      this.block.set(piece, this.used);
      this.used += piece.length;
    }
  }

  /** All of them in one. Nothing can be added afterwards. */
  all(): Buffer {
    this.closeBlock();
    return Buffer.concat(this.blocks);
  }

  private closeBlock(): void {
    if (this.used === 0) return;
    this.blocks.push(this.block.subarray(0, this.used));
    this.block = new Uint8Array(BLOCK_BYTES);
    this.used = 0;
  }
}
