/** Points of a stream of unknown length, spread evenly over it: every second of them goes when it is full. */
export class Sample {
  private readonly kept: Float64Array;
  private count = 0;
  private every = 1;
  private seen = 0;

  /** @param most points that are kept. */
  constructor(private readonly most: number) {
    this.kept = new Float64Array(most * 3);
  }

  add(points: Float64Array, count: number): void {
    for (let index = 0; index < count; index += 1) {
      if (this.seen++ % this.every !== 0) continue;
      if (this.count === this.most) this.thin();
      if ((this.seen - 1) % this.every !== 0) continue;
      this.kept.set(points.subarray(index * 3, index * 3 + 3), this.count * 3);
      this.count += 1;
    }
  }

  /** Three coordinates of each point. */
  all(): Float64Array {
    return this.kept.slice(0, this.count * 3);
  }

  /** No more than so many of them. */
  some(points: number): Float64Array {
    const step = Math.max(1, Math.ceil(this.count / points));
    const kept: number[] = [];
    for (let at = 0; at < this.count; at += step) kept.push(...this.kept.subarray(at * 3, at * 3 + 3));
    return Float64Array.from(kept);
  }

  private thin(): void {
    const left = Math.ceil(this.count / 2);
    for (let index = 0; index < left; index += 1)
      this.kept.set(this.kept.subarray(index * 6, index * 6 + 3), index * 3);
    this.count = left;
    this.every *= 2;
  }
}
