/** Numbers that look random and are the same on every machine: whoever uses them fixes the seed. */
export class Random {
  constructor(private state: number) {}

  /** From 0 up to 1. Mulberry32, a public-domain generator of 32 bits of state. */
  next(): number {
    this.state = (this.state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(this.state ^ (this.state >>> 15), 1 | this.state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  }

  /** Roughly normal: the sum of twelve uniform numbers. Needs no Math function, so no engine differs. */
  around(mean: number, sd: number): number {
    let sum = 0;
    for (let index = 0; index < 12; index++) sum += this.next();
    return mean + (sum - 6) * sd;
  }
}
