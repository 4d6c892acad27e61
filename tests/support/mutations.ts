import { random } from './log-maker.js';

/** Spoils bytes as disks, networks, editors and people with bad intent do; the same seed, the same bytes. */
export class Mutations {
  private readonly next: () => number;

  /**
   * @param words of the format, put in where they do not belong.
   */
  constructor(
    seed: number,
    private readonly words: readonly string[],
  ) {
    this.next = random(seed);
  }

  /** A whole number from 0 and below `end`. */
  below(end: number): number {
    return Math.floor(this.next() * end);
  }

  one<T>(of: readonly T[]): T {
    return of[this.below(of.length)]!;
  }

  /** One to six changes. */
  spoil(bytes: Buffer): Buffer {
    let spoilt = bytes;
    for (let left = 1 + this.below(6); left > 0; left -= 1) spoilt = this.change(spoilt);
    return spoilt;
  }

  private change(bytes: Buffer): Buffer {
    const at = this.below(bytes.length + 1);
    const length = this.below(Math.min(64, bytes.length - at) + 1);
    const [before, stretch, behind] = [
      bytes.subarray(0, at),
      bytes.subarray(at, at + length),
      bytes.subarray(at + length),
    ];
    switch (this.below(8)) {
      case 0:
        return this.withByte(bytes, at, (byte) => byte ^ (1 << this.below(8)));
      case 1:
        return this.withByte(bytes, at, () => this.below(256));
      case 2:
        return Buffer.concat([before, behind]);
      case 3:
        return Buffer.concat([before, stretch, stretch, behind]);
      case 4:
        return Buffer.concat([behind, stretch, before]);
      case 5:
        return before;
      case 6:
        return Buffer.concat([before, stretch, Buffer.from(this.one(this.words).repeat(1 + this.below(40))), behind]);
      default:
        return Buffer.concat([before, Buffer.from(this.one(this.words)), behind]);
    }
  }

  private withByte(bytes: Buffer, at: number, change: (byte: number) => number): Buffer {
    const copy = Buffer.from(bytes);
    if (at < copy.length) copy[at] = change(copy[at]!) & 0xff;
    return copy;
  }
}
