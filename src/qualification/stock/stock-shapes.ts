import { Random } from '../../base/random.js';

/** A machined bar, and the ridge that is built on it: invented blocks, in mm, in the frame of the design. */

type Corner = readonly [number, number, number];
interface Block {
  readonly from: Corner;
  readonly to: Corner;
}

export const BAR: Block = { from: [0, 0, 0], to: [30, 8, 3] };
/** Its foot lies a little inside the bar, so that both are one body. */
export const RIDGE: Block = { from: [4, 2, 2.9], to: [16, 5, 5] };

/** Two triangles of each face, by the corners as bits along x, y and z. */
const FACES = [
  [0, 2, 3, 1],
  [4, 5, 7, 6],
  [0, 1, 5, 4],
  [2, 6, 7, 3],
  [0, 4, 6, 2],
  [1, 3, 7, 5],
] as const;

const corner = ({ from, to }: Block, bits: number): Corner => [
  (bits & 1 ? to : from)[0],
  (bits & 2 ? to : from)[1],
  (bits & 4 ? to : from)[2],
];

/** The surface of blocks as ASCII STL. */
export function meshOf(name: string, blocks: readonly Block[]): string {
  const triangles = blocks.flatMap((block) =>
    FACES.flatMap(([a, b, c, d]) => [
      [a, b, c].map((bits) => corner(block, bits)),
      [a, c, d].map((bits) => corner(block, bits)),
    ]),
  );
  const facets = triangles.map((corners) =>
    [
      'facet normal 0 0 0',
      'outer loop',
      ...corners.map((place) => `vertex ${place.join(' ')}`),
      'endloop',
      'endfacet',
    ].join('\n'),
  );
  return `solid ${name}\n${facets.join('\n')}\nendsolid ${name}\n`;
}

const isInside = ({ from, to }: Block, place: Corner): boolean =>
  place.every((value, axis) => value > from[axis]! && value < to[axis]!);

export interface ScanOf {
  readonly blocks: readonly Block[];
  readonly seed: number;
  /** How far the surface lies outside the nominal one at a place, in mm. */
  off(place: Corner): number;
}

/** Points of which none lies inside a block, in rows a little apart, each as far off as it is said to be and a little noise. */
export function scanOf({ blocks, seed, off }: ScanOf): string {
  const random = new Random(seed);
  const rows: string[] = [];
  for (const block of blocks)
    for (const axis of [0, 1, 2] as const)
      for (const end of [block.from, block.to]) {
        const sign = end === block.to ? 1 : -1;
        const [u, v] = [0, 1, 2].filter((one) => one !== axis) as [number, number];
        for (let a = block.from[u]! + random.next() * APART; a < block.to[u]!; a += APART)
          for (let b = block.from[v]! + random.next() * APART; b < block.to[v]!; b += APART) {
            const place = [0, 0, 0];
            [place[axis], place[u], place[v]] = [end[axis]!, a, b];
            if (blocks.some((other) => other !== block && isInside(grown(other), place as never))) continue;
            place[axis]! += sign * (off(place as never) + random.around(0, NOISE));
            rows.push(place.map((value) => value.toFixed(4)).join(' '));
          }
      }
  const head = ['ply', 'format ascii 1.0', 'comment invented scan', `element vertex ${rows.length}`];
  return [...head, ...['x', 'y', 'z'].map((axis) => `property double ${axis}`), 'end_header', ...rows, ''].join('\n');
}

/** Between rows of points, and of the scanner, in mm. */
const APART = 0.55;
const NOISE = 0.004;
/** What lies on another block is hidden, too. */
const grown = ({ from, to }: Block): Block => ({
  from: from.map((value) => value - 0.02) as never,
  to: to.map((value) => value + 0.02) as never,
});
