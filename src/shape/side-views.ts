/** A part seen along one axis: of each square the largest deviation that lies on its line, near or far. */
export interface SideView {
  readonly along: 'x' | 'y' | 'z';
  /** Where the first square begins, in mm, and how wide each is. */
  readonly fromMm: readonly [number, number];
  readonly squareMm: number;
  readonly columns: number;
  /** Row by row, the lowest first, in whole micrometres; null where there is no point. */
  readonly rows: readonly (readonly (number | null)[])[];
}

/** Squares along the longest side of a part: as fine as a picture of a hand's width shows. */
const SQUARES = 48;
const WIDTHS = [1, 2, 5];

/** Two of the axes, across and up, for each along which one looks. */
const SEEN = { x: [1, 2], y: [0, 2], z: [0, 1] } as const;

/** The first of 1, 2 and 5 times a power of ten that gives no more squares. */
function squareOf(extent: readonly number[]): number {
  const longest = Math.max(extent[3]! - extent[0]!, extent[4]! - extent[1]!, extent[5]! - extent[2]!);
  for (let power = -6; ; power += 1) {
    const width = WIDTHS.map((one) => Number(`${one}e${power}`)).find((one) => longest / one <= SQUARES);
    if (width !== undefined) return width;
  }
}

/** Gathers the largest deviation of each square from three sides. Both faces of a part are in each: nothing is hidden. */
export class SideViews {
  private readonly views;

  /** @param extent of the mesh, in mm. */
  constructor(extent: readonly number[]) {
    const square = squareOf(extent);
    this.views = (['x', 'y', 'z'] as const).map((along) => {
      const [across, up] = SEEN[along];
      const from = [across, up].map((axis) => Math.floor(extent[axis]! / square) * square) as [number, number];
      const count = (axis: number, start: number) => Math.max(1, Math.ceil((extent[axis + 3]! - start) / square));
      const [columns, rows] = [count(across, from[0]), count(up, from[1])];
      const largest = new Float64Array(columns * rows).fill(Number.NaN);
      return { along, across, up, from, square, columns, rows, largest };
    });
  }

  /** @param place of the surface that is nearest to the point. */
  add(deviation: number, x: number, y: number, z: number): void {
    const place = [x, y, z];
    for (const { across, up, from, square, columns, rows, largest } of this.views) {
      const column = Math.min(columns - 1, Math.max(0, Math.floor((place[across]! - from[0]) / square)));
      const row = Math.min(rows - 1, Math.max(0, Math.floor((place[up]! - from[1]) / square)));
      const at = row * columns + column;
      if (!(Math.abs(deviation) <= Math.abs(largest[at]!))) largest[at] = deviation;
    }
  }

  told(): SideView[] {
    return this.views.map(({ along, from, square, columns, rows, largest }) => ({
      along,
      fromMm: [rounded(from[0]), rounded(from[1])],
      squareMm: square,
      columns,
      rows: Array.from({ length: rows }, (_, row) =>
        Array.from(largest.subarray(row * columns, (row + 1) * columns), (value) =>
          Number.isNaN(value) ? null : Math.round(value * 1000) + 0,
        ),
      ),
    }));
  }
}

const rounded = (value: number): number => Number(value.toPrecision(9)) + 0;
