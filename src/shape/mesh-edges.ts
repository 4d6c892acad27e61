import type { Mesh } from './mesh.js';

/** Sides of triangles by what they share: side `3 t + k` of triangle `t` runs from its corner `k` to the next. */
export interface MeshEdges {
  /** The one other side along the same edge; -1 where there is none, or more than one. */
  readonly twin: Int32Array;
  /** Sides with no other side along their edge. */
  readonly open: readonly number[];
  /** The first side of each edge that more than two triangles share. */
  readonly crowded: readonly number[];
  /** The later side of each edge along which both triangles run the same way: one of them is flipped. */
  readonly sameWay: readonly number[];
}

export function edgesOf({ corners, triangles }: Mesh): MeshEdges {
  const byCorner = sidesByLowerCorner(triangles, corners.length / 3);
  const twin = new Int32Array(triangles.length).fill(-1);
  const open: number[] = [];
  const crowded: number[] = [];
  const sameWay: number[] = [];
  const { starts, sides } = byCorner;
  for (let corner = 0; corner + 1 < starts.length; corner += 1) {
    const own = sides.subarray(starts[corner]!, starts[corner + 1]!);
    // All sides between the same two corners stand together then, in the order of the file.
    own.sort((a, b) => upperOf(triangles, a) - upperOf(triangles, b) || a - b);
    for (let from = 0; from < own.length; ) {
      let to = from + 1;
      while (to < own.length && upperOf(triangles, own[to]!) === upperOf(triangles, own[from]!)) to += 1;
      const [first, second] = [own[from]!, own[to - 1]!];
      if (to - from === 1) open.push(first);
      else if (to - from > 2) crowded.push(first);
      else {
        twin[first] = second;
        twin[second] = first;
        if (triangles[first] === triangles[second]) sameWay.push(second);
      }
      from = to;
    }
  }
  const inOrder = (found: number[]) => found.sort((a, b) => a - b);
  return { twin, open: inOrder(open), crowded: inOrder(crowded), sameWay: inOrder(sameWay) };
}

const endOf = (side: number): number => (side % 3 === 2 ? side - 2 : side + 1);

const upperOf = (triangles: Uint32Array, side: number): number => Math.max(triangles[side]!, triangles[endOf(side)]!);

function sidesByLowerCorner(triangles: Uint32Array, corners: number): { starts: Uint32Array; sides: Uint32Array } {
  const lower = (side: number) => Math.min(triangles[side]!, triangles[endOf(side)]!);
  const starts = new Uint32Array(corners + 1);
  for (let side = 0; side < triangles.length; side += 1) starts[lower(side) + 1]! += 1;
  for (let corner = 0; corner < corners; corner += 1) starts[corner + 1]! += starts[corner]!;
  const next = starts.slice();
  const sides = new Uint32Array(triangles.length);
  for (let side = 0; side < triangles.length; side += 1) {
    const corner = lower(side);
    sides[next[corner]!] = side;
    next[corner]! += 1;
  }
  return { starts, sides };
}
