import type { Area } from './frame.js';

/** Finds free places for words beside points, and remembers what is taken. */
export class LabelPlaces {
  private readonly taken: Area[] = [];

  constructor(private readonly within: Area) {}

  take(box: Area): void {
    this.taken.push(box);
  }

  /**
   * Base line and left end of a label of this width beside the point, or nothing when every place is taken.
   * Above is tried first, then below, then further off.
   */
  find(x: number, y: number, width: number): { readonly x: number; readonly y: number } | undefined {
    for (const distance of [7, 17, 27, 37]) {
      for (const [left, base] of [
        [x - width / 2, y - distance],
        [x - width / 2, y + distance + 6],
        [x + 5, y - distance],
        [x - width - 5, y - distance],
        [x + 5, y + distance + 6],
        [x - width - 5, y + distance + 6],
      ] as const) {
        const box = { left, right: left + width, top: base - 7.5, bottom: base + 2.5 };
        if (!this.isFree(box)) continue;
        this.take(box);
        return { x: left, y: base };
      }
    }
    return undefined;
  }

  private isFree(box: Area): boolean {
    const { within } = this;
    const inside =
      box.left >= within.left && box.right <= within.right && box.top >= within.top && box.bottom <= within.bottom;
    return inside && !this.taken.some((other) => overlap(box, other));
  }
}

function overlap(a: Area, b: Area): boolean {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}
