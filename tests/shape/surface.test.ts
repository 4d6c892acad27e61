import fc from 'fast-check';
import { type Mesh, meshOf } from '../../src/shape/mesh.js';
import { type MeshFault, meshFindings, volumeOf } from '../../src/shape/mesh-findings.js';
import { moved, turnedAround } from '../../src/shape/motion.js';
import { Surface } from '../../src/shape/surface.js';
import { box, cylinder, pointsOn, sequence, soupOf, sphere, torus, wedge } from '../support/shapes.js';

const BODIES: readonly (readonly [name: string, mesh: Mesh, volume: number, near: number])[] = [
  ['a block', box(30, 20, 5), 3000, 1e-9],
  ['a sphere', sphere(10), (4 / 3) * Math.PI * 1000, 0.02],
  ['a cylinder', cylinder(8, 25), Math.PI * 64 * 25, 0.01],
  ['a ring', torus(30, 8), 2 * Math.PI ** 2 * 30 * 64, 0.02],
  ['a wedge', wedge(), (40 * 25 * 10) / 6, 1e-9],
];

describe.each(BODIES)('%s', (_name, mesh, volume, near) => {
  const surface = new Surface(mesh);

  it('is sound, and joined again from single triangles', () => {
    expect(meshFindings(mesh, [])).toEqual([]);
    expect(Math.abs(volumeOf(mesh) / volume - 1)).toBeLessThan(near);
    const joined = meshOf(soupOf(mesh));
    expect(soupOf(joined)).toEqual(soupOf(mesh));
    expect(joined.corners.length).toBe(mesh.corners.length);
  });

  it.each([0.05, -0.05, 0.001, -1e-6])('tells points that lie %s mm off its triangles so', (off) => {
    const points = pointsOn(mesh, 300, () => off);
    // Near an edge such a point may lie nearer to another face, and then counts from there.
    let exact = 0;
    for (let at = 0; at < points.length; at += 3) {
      expect(surface.nearest(points[at]!, points[at + 1]!, points[at + 2]!, 5)).toBe(true);
      expect(Math.abs(surface.signed)).toBeLessThanOrEqual(Math.abs(off) + 1e-9);
      if (Math.abs(surface.signed - off) < 1e-9) exact += 1;
    }
    expect(exact).toBeGreaterThan(off > 0 ? 250 : 200);
  });
});

it.each<[name: string, mesh: Mesh, deviation: (x: number, y: number, z: number) => number, facets: number]>([
  ['a plane', box(200, 200, 50), (_x, _y, z) => z - 50, 1e-9],
  ['a sphere', sphere(10, 60, 120), (x, y, z) => Math.hypot(x, y, z) - 10, 0.015],
  ['a cylinder', cylinder(10, 200, 200), (x, y, z) => (z > 1 && z < 199 ? Math.hypot(x, y) - 10 : 9), 0.002],
  ['a ring', torus(30, 8, 160, 80), (x, y, z) => Math.hypot(Math.hypot(x, y) - 30, z) - 8, 0.02],
])('agrees with the formula of %s within what its facets cut off', (_name, mesh, deviation, facets) => {
  const surface = new Surface(mesh);
  const random = sequence(7);
  const noise = pointsOn(mesh, 400, () => 0, random).map((value) => value + (random() - 0.5) * 0.2);
  let compared = 0;
  for (let at = 0; at < noise.length; at += 3) {
    const [x, y, z] = [noise[at]!, noise[at + 1]!, noise[at + 2]!];
    const expected = deviation(x, y, z);
    if (Math.abs(expected) > 0.2) continue;
    compared += 1;
    surface.nearest(x, y, z, 5);
    expect(Math.abs(surface.signed - expected)).toBeLessThanOrEqual(facets);
  }
  expect(compared).toBeGreaterThan(100);
});

/** The nearest point of a triangle by trying its corners, its edges and its plane. */
function bruteDistance(soup: Float64Array, p: readonly number[]): number {
  const sub = (a: readonly number[], b: readonly number[]) => a.map((value, k) => value - b[k]!);
  const dot = (a: readonly number[], b: readonly number[]) => a.reduce((sum, value, k) => sum + value * b[k]!, 0);
  const cross = (a: readonly number[], b: readonly number[]) => [
    a[1]! * b[2]! - a[2]! * b[1]!,
    a[2]! * b[0]! - a[0]! * b[2]!,
    a[0]! * b[1]! - a[1]! * b[0]!,
  ];
  let best = Infinity;
  for (let at = 0; at < soup.length; at += 9) {
    const corners = [0, 3, 6].map((k) => [...soup.subarray(at + k, at + k + 3)]);
    const normal = cross(sub(corners[1]!, corners[0]!), sub(corners[2]!, corners[0]!));
    let isOver = true;
    for (const [k, a] of corners.entries()) {
      const side = sub(corners[(k + 1) % 3]!, a);
      const t = Math.max(0, Math.min(1, dot(sub(p, a), side) / dot(side, side)));
      best = Math.min(
        best,
        Math.hypot(
          ...sub(
            p,
            a.map((value, axis) => value + t * side[axis]!),
          ),
        ),
      );
      if (dot(cross(side, sub(p, a)), normal) < 0) isOver = false;
    }
    if (isOver) best = Math.min(best, Math.abs(dot(sub(p, corners[0]!), normal)) / Math.hypot(...normal));
  }
  return best;
}

it('finds what a search of all triangles finds, inside, outside and far away', () => {
  const random = sequence(3);
  for (const mesh of [wedge(), sphere(10, 8, 12), torus(12, 4, 16, 8), box(3, 20, 9)]) {
    const surface = new Surface(mesh);
    const soup = soupOf(mesh);
    for (let index = 0; index < 200; index += 1) {
      const place = [0, 1, 2].map(() => (random() - 0.4) * 60) as [number, number, number];
      surface.nearest(...place, 1000);
      expect(Math.abs(surface.signed)).toBeCloseTo(bruteDistance(soup, place), 9);
    }
  }
});

it('says by the winding of the whole surface which side a point lies on, at edges and corners too', () => {
  const mesh = wedge();
  const surface = new Surface(mesh);
  const random = sequence(11);
  for (let index = 0; index < 500; index += 1) {
    const [x, y, z] = [random() * 50 - 5, random() * 35 - 5, random() * 20 - 5] as [number, number, number];
    const inside = x > 0 && y > 0 && z > 0 && x / 40 + y / 25 + z / 10 < 1;
    surface.nearest(x, y, z, 1000);
    expect(surface.signed < 0).toBe(inside);
  }
});

it('tells nothing beyond the reach that is asked', () => {
  const surface = new Surface(box(10, 10, 10));
  expect(surface.nearest(5, 5, 12, 1.9)).toBe(false);
  expect(surface.nearest(5, 5, 12, 2)).toBe(true);
});

it('changes no deviation when points and mesh move together', () => {
  const mesh = wedge();
  const surface = new Surface(mesh);
  const component = fc.double({ min: -1, max: 1, noNaN: true });
  fc.assert(
    fc.property(
      fc.tuple(component, component, component, component).filter((q) => Math.hypot(...q) > 0.1),
      fc.array(fc.double({ min: -500, max: 500, noNaN: true }), { minLength: 3, maxLength: 3 }),
      fc.integer({ min: 1, max: 1000 }),
      (q, shift, seed) => {
        const length = Math.hypot(...q);
        const unit = q.map((value) => value / length) as unknown as [number, number, number, number];
        const motion = turnedAround(unit, [1, 2, 3], shift);
        const corners = new Float64Array(mesh.corners.length);
        moved(motion, mesh.corners, corners, corners.length / 3);
        const other = new Surface({ ...mesh, corners });
        const points = pointsOn(mesh, 20, (index) => (index % 5) * 0.1 - 0.2, sequence(seed));
        const away = new Float64Array(points.length);
        moved(motion, points, away, 20);
        for (let at = 0; at < 60; at += 3) {
          surface.nearest(points[at]!, points[at + 1]!, points[at + 2]!, 5);
          other.nearest(away[at]!, away[at + 1]!, away[at + 2]!, 5);
          expect(other.signed).toBeCloseTo(surface.signed, 8);
        }
      },
    ),
    { seed: 23, numRuns: 50 },
  );
});

describe('a mesh that is no closed surface', () => {
  const block = box(10, 10, 10);
  const with_ = (change: (triangles: number[]) => number[]): Mesh => ({
    ...block,
    triangles: Uint32Array.from(change([...block.triangles])),
  });
  it.each<[name: string, mesh: Mesh, faults: readonly [MeshFault, number][]]>([
    ['with a hole', with_((all) => all.slice(3)), [['open edge', 3]]],
    ['with a triangle turned over', with_(([a, b, c, ...rest]) => [a!, c!, b!, ...rest]), [['flipped triangle', 3]]],
    [
      'with a triangle twice',
      with_((all) => [...all, ...all.slice(0, 3)]),
      [
        ['triangle twice', 1],
        ['edge of more than two triangles', 3],
      ],
    ],
    [
      'with a triangle without area',
      with_((all) => [...all, 0, 1, 1]),
      [
        ['triangle without area', 1],
        ['edge of more than two triangles', 1],
        ['open edge', 1],
      ],
    ],
    ['turned inside out', with_((all) => all.reverse()), [['turned inside out', 1]]],
    [
      'with two blocks on one edge',
      {
        corners: Float64Array.from([
          ...block.corners,
          ...block.corners.map((value, at) => (at % 3 === 2 ? value : -value)),
        ]),
        triangles: Uint32Array.from([
          ...block.triangles,
          ...[...block.triangles].map((k) => (k === 0 ? 0 : k === 4 ? 4 : k + 8)),
        ]),
      },
      [['edge of more than two triangles', 1]],
    ],
  ])('is told %s', (_name, mesh, faults) => {
    const found = meshFindings(mesh, []);
    expect(found.map(({ fault, count }) => [fault, count]).sort()).toEqual([...faults].sort());
    for (const { triangle, at } of found) {
      expect(triangle).toBeGreaterThan(0);
      expect(at.every((value) => value >= -10 && value <= 10)).toBe(true);
    }
  });

  it('is told where stored normals say the other side', () => {
    expect(meshFindings(block, [4]).map(({ fault, triangle }) => [fault, triangle])).toEqual([
      ['normal against its triangle', 5],
    ]);
  });
});
