/** Points that are worked on together: results are put together block by block, in this order on every machine. */
export const BLOCK_POINTS = 16_384;

/** Gathers points into blocks of three coordinates each. */
export class PointBlocks {
  private block = new Float64Array(BLOCK_POINTS * 3);
  private filled = 0;
  /** Points so far. */
  count = 0;

  /** @param take gets a block and how many points are in it; it is used again afterwards. */
  constructor(private readonly take: (coordinates: Float64Array, points: number) => void) {}

  add(x: number, y: number, z: number): void {
    const at = this.filled * 3;
    this.block[at] = x;
    this.block[at + 1] = y;
    this.block[at + 2] = z;
    this.filled += 1;
    this.count += 1;
    if (this.filled === BLOCK_POINTS) this.flush();
  }

  flush(): void {
    if (this.filled > 0) this.take(this.block, this.filled);
    this.filled = 0;
  }
}
