import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { BadInputError } from '../../src/base/errors.js';
import { bodiesOf, coveredIn } from '../../src/shape/bodies.js';
import { type ChangeRequest, type LaidScan, measureChange } from '../../src/shape/measure-change.js';
import { measureShape } from '../../src/shape/measure-shape.js';
import { meshOf } from '../../src/shape/mesh.js';
import { edgesOf } from '../../src/shape/mesh-edges.js';
import { AT_REST, moved } from '../../src/shape/motion.js';
import { plate, seen } from '../support/documents/shapes.js';
import { bar, bare } from '../support/documents/stock.js';
import { box, pointsOn, sequence, stlText, written, xyzText } from '../support/shapes.js';

/** Expected numbers follow from how far the points were set off: no other source is needed. */

const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'stock-'));
afterAll(() => fs.rmSync(folder, { recursive: true }));

let count = 0;
const file = (content: string, end: string) => {
  count += 1;
  const name = `${count}.${end}`;
  return { path: written(folder, name, content), name };
};
const stl = (mesh: Parameters<typeof stlText>[0]) => ({ file: file(stlText(mesh), 'stl'), mm: 1 });
const scan = (points: Float64Array, more: Partial<LaidScan> = {}): LaidScan => ({
  points: { file: { ...file(xyzText(points), 'xyz'), form: 'xyz' }, mm: 1 },
  judged: 'as given',
  ...more,
});

const requestOf = (before: LaidScan, after: LaidScan): ChangeRequest => ({
  ...{ before, after, stock: stl(bar()), design: stl(plate()) },
});

/** A turn around z with a shift, far enough that nothing lies where it was and near enough that it is found again. */
const MOTION = [Math.cos(0.05), -Math.sin(0.05), 0, 1.1, Math.sin(0.05), Math.cos(0.05), 0, -0.7, 0, 0, 1, 0.4];
function away(points: Float64Array): Float64Array {
  const to = new Float64Array(points.length);
  moved(MOTION, points, to, points.length / 3);
  return to;
}

it('finds by how much the stock lies elsewhere, on the surface that stays alone, however far the boss is off', async () => {
  const built = seen(8000, () => 0.03, 5);
  // The boss is built half a millimetre too high: that is nothing of the stock.
  for (let at = 0; at < built.length; at += 3) if (built[at + 2]! > 2.3) built[at + 2]! += 0.5;
  const { change, comparedShare, after } = await measureChange(requestOf(scan(bare(8000, () => 0.01)), scan(built)));
  expect(change!.meanMm).toBeCloseTo(0.02, 3);
  expect(change!.worst.deviationMm).toBeCloseTo(0.02, 2);
  expect(comparedShare).toBeGreaterThan(0.9);
  expect(after.kept!.meanMm).toBeCloseTo(0.03, 3);
});

it('finds the one place where the stock was burnt away', async () => {
  const built = seen(20_000, () => 0, 5);
  for (let at = 0; at < built.length; at += 3) {
    const [x, y, z] = [built[at]!, built[at + 1]!, built[at + 2]!];
    if (x > 20 && x < 26 && y > 2 && y < 6 && z > 1.4) built[at + 2] = z - 0.2;
  }
  const { change } = await measureChange(requestOf(scan(bare(20_000)), scan(built)));
  expect(change!.worst.deviationMm).toBeCloseTo(-0.2, 2);
  const [x, y, z] = change!.worst.at;
  expect([x > 19 && x < 27, y > 1 && y < 7, z]).toEqual([true, true, 1.5]);
  expect(change!.highestMm).toBeCloseTo(0, 2);
});

describe('a design that is drawn as bodies which overlap or touch', () => {
  /** A bar of 80 × 12 × 4 mm with a boss of 20 × 12 mm on it, the boss sunk into the bar by so much. */
  const bodies = (sunkMm: number) => {
    const [bottom, boss] = [box(80, 12, 4), box(20, 12, 3 + sunkMm)];
    const corners = [...boss.corners].map((value, index) => value + [30, 0, 4 - sunkMm][index % 3]!);
    return {
      corners: Float64Array.from([...bottom.corners, ...corners]),
      triangles: Uint32Array.from([
        ...bottom.triangles,
        ...boss.triangles.map((one) => one + bottom.corners.length / 3),
      ]),
    };
  };
  const scanned = (mesh: ReturnType<typeof box>, isSeen: (x: number, y: number, z: number) => boolean) => {
    const all = pointsOn(mesh, 30_000, () => 0, sequence(5));
    const kept: number[] = [];
    for (let at = 0; at < all.length; at += 3) {
      const [x, y, z] = [all[at]!, all[at + 1]!, all[at + 2]!];
      if (isSeen(x, y, z)) kept.push(x, y, z);
    }
    return Float64Array.from(kept);
  };
  it.each([
    ['a face with all its corners', [0, 0, 4], [80, 12]],
    ['an edge', [0, 12, 4], [80, 12]],
    ['a corner', [80, 12, 4], [20, 12]],
  ] as const)('is two bodies where they touch in %s, which the mesh has once', (_, [x, y, z], [width, depth]) => {
    const [bottom, top] = [box(80, 12, 4), box(width, depth, 3)];
    const placed = [...top.corners].map((value, index) => value + [x, y, z][index % 3]!);
    const flat = (corners: ArrayLike<number>, { triangles }: typeof top) =>
      [...triangles].flatMap((corner) => [corners[3 * corner]!, corners[3 * corner + 1]!, corners[3 * corner + 2]!]);
    const mesh = meshOf(Float64Array.from([...flat(bottom.corners, bottom), ...flat(placed, top)]));
    expect(mesh.corners.length / 3).toBeLessThan(16);
    const found = bodiesOf(mesh);
    expect(found.map(({ triangles }) => triangles.length / 3)).toEqual([12, 12]);
    for (const body of found) {
      const { open, crowded, sameWay } = edgesOf(body);
      expect([open.length, crowded.length, sameWay.length]).toEqual([0, 0, 0]);
    }
    expect(coveredIn(mesh)).toBeDefined();
  });

  const isUnder = (x: number, z: number, from: number) => x > 30 && x < 50 && z > from && z < 4.001;

  it.each([0, 1])(
    'loses nothing where the boss, sunk in by %d mm, covers the bar, and something where a corner broke off',
    async (sunkMm) => {
      const design = bodies(sunkMm);
      const before = scanned(box(80, 12, 4), () => true);
      const after = (isSeen: (x: number, y: number, z: number) => boolean) =>
        scanned(design, (x, y, z) => !(isUnder(x, z, 3.9 - sunkMm) && y > 0.001 && y < 11.999) && isSeen(x, y, z));
      const changed = (points: Float64Array) =>
        measureChange({ before: scan(before), after: scan(points), stock: stl(box(80, 12, 4)), design: stl(design) });
      const whole = await changed(after(() => true));
      // As it is stored: to a thousandth.
      expect(whole.lostShare).toBeLessThan(0.0005);
      expect(Math.abs(whole.change!.worst.deviationMm)).toBeLessThan(0.01);
      const broken = await changed(after((x) => x < 70));
      expect(broken.lostShare).toBeGreaterThan(0.05);
    },
  );
});

/** A thin plate without a boss, of which one face only or both are scanned; it is bent to the one side, or its end is. */
describe('a plate thinner than a square of its surface', () => {
  const thin = () => box(80, 12, 1.5);
  const points = (off: (x: number) => number, isSeen: (z: number) => boolean = () => true) => {
    const all = pointsOn(thin(), 20_000, () => 0, sequence(3));
    const kept: number[] = [];
    for (let at = 0; at < all.length; at += 3) {
      const [x, y, z] = [all[at]!, all[at + 1]!, all[at + 2]!];
      if (isSeen(z)) kept.push(x, y, z + off(x));
    }
    return Float64Array.from(kept);
  };
  const changed = (after: Float64Array) =>
    measureChange({ before: scan(points(() => 0)), after: scan(after), stock: stl(thin()), design: stl(thin()) });

  it('is found to be bent, both faces by as much to the one side', async () => {
    const { change, lostShare, comparedShare } = await changed(points((x) => 0.3 * Math.sin((Math.PI * x) / 80)));
    expect(change!.highestMm).toBeCloseTo(0.3, 2);
    expect(change!.lowestMm).toBeCloseTo(-0.3, 2);
    expect(Math.abs(change!.meanMm)).toBeLessThan(0.01);
    expect(comparedShare).toBeGreaterThan(0.97);
    expect(lostShare).toBe(0);
  });

  it('is not compared on the face that only one scan shows', async () => {
    const { comparedShare, lostShare } = await changed(
      points(
        () => 0,
        (z) => z > 0.75,
      ),
    );
    expect(comparedShare).toBeGreaterThan(0.45);
    expect(comparedShare).toBeLessThan(0.6);
    expect(lostShare).toBeGreaterThan(0.35);
  });

  it('loses what was bent away by more than a point is looked for', async () => {
    const end = await changed(points((x) => (x > 60 ? 6 : 0)));
    expect(end.reachMm).toBeCloseTo(Math.hypot(80, 12, 1.5) / 20, 6);
    expect(end.lostShare).toBeGreaterThan(0.2);
    expect(end.lostShare).toBeLessThan(0.26);
    expect(Math.abs(end.change!.worst.deviationMm)).toBeLessThan(0.01);
  });

  it('is scanned by half where a scan shows one face of it', async () => {
    const zones = [{ zone: 'all', box: [-1, -1, -1, 81, 13, 3], outsideMm: 0.1 }];
    const shareOf = async (isSeen?: (z: number) => boolean) => {
      const { asGiven } = await measureShape({
        ...{ points: scan(points(() => 0, isSeen)).points, mesh: stl(thin()), zones, judged: 'as given' },
      });
      return asGiven.zones[0]!.scannedShare!;
    };
    expect(await shareOf()).toBeGreaterThan(0.97);
    const top = await shareOf((z) => z === 1.5);
    expect(top).toBeGreaterThan(0.4);
    expect(top).toBeLessThan(0.5);
  });
});

it('lays both scans on the surface that stays, each by itself, and states how', async () => {
  const fitted = { judged: 'least squares' } as const;
  const { change, before, after } = await measureChange(
    requestOf(scan(away(bare(6000)), fitted), scan(away(seen(6000, () => 0, 5)), fitted)),
  );
  expect(Math.max(Math.abs(change!.lowestMm), change!.highestMm)).toBeLessThan(0.002);
  for (const { residualMm, motion } of [before, after]) {
    expect(residualMm).toBeLessThan(0.002);
    expect(motion).not.toEqual(AT_REST);
  }
});

it('compares nothing where one scan shows nothing of what stays', async () => {
  const boss = seen(20_000, () => 0, 5);
  const kept: number[] = [];
  for (let at = 0; at < boss.length; at += 3) if (boss[at + 2]! > 2) kept.push(...boss.subarray(at, at + 3));
  const { change, comparedShare } = await measureChange(requestOf(scan(bare(6000)), scan(Float64Array.from(kept))));
  expect([change, comparedShare]).toEqual([undefined, 0]);
});

it.each<[name: string, request: () => ChangeRequest, code: string]>([
  [
    'a mirrored scan of the finished part',
    () => {
      const points = seen(4000, () => 0, 5).map((value, at) => (at % 3 === 0 ? 42 - value : value));
      return requestOf(scan(bare(4000)), scan(points));
    },
    'shape-mirrored',
  ],
  [
    'a scan before in inches',
    () => requestOf(scan(bare(4000).map((value) => value / 25.4)), scan(seen(4000, () => 0))),
    'shape-unit',
  ],
  [
    'a stock part in another frame',
    () => ({
      ...requestOf(scan(bare(4000)), scan(seen(4000, () => 0))),
      stock: stl({ ...bar(), corners: bar().corners.map((value) => value + 5.3) }),
    }),
    'stock-apart',
  ],
])('refuses %s', async (_name, request, code) => {
  const error = await measureChange(request()).catch((raised: unknown) => raised);
  expect(error).toBeInstanceOf(BadInputError);
  expect((error as BadInputError).problems[0]).toMatchObject({ code });
});

it('ends early when it is cancelled', async () => {
  const stop = new AbortController();
  stop.abort();
  const request = requestOf(scan(bare(2000)), scan(seen(2000, () => 0)));
  await expect(measureChange(request, () => {}, stop.signal)).rejects.toThrow(/abort/i);
});

describe('an implant on stock against its design', () => {
  const zones = [
    { zone: 'end', box: [-1, -1, -1, 12, 9, 3], outsideMm: 0.1 },
    { zone: 'rest', box: [12, -1, -1, 43, 9, 3], outsideMm: 0.05 },
  ];
  const measured = async (points: Float64Array, more = {}) =>
    measureShape({
      ...{ points: scan(points).points, mesh: stl(plate()), zones, judged: 'as given', uncertaintyMm: 0.004 },
      ...{ stock: stl(bar()), ...more },
    });

  it('is told apart: what was built, and what is of the stock', async () => {
    const points = seen(20_000, () => 0, 5);
    for (let at = 0; at < points.length; at += 3) if (points[at + 2]! > 1.52) points[at + 2]! += 0.2;
    const { asGiven, stock } = await measured(points);
    expect([...stock!.zones]).toEqual([
      ['end', 'part'],
      ['rest', 'all'],
    ]);
    const [boss] = asGiven.zones;
    expect(asGiven.zones.map(({ zone }) => zone)).toEqual(['end']);
    expect(boss!.worst.deviationMm).toBeCloseTo(0.2, 6);
    expect(boss!.outside).toBeGreaterThan(0);
    const kept = asGiven.stock!;
    expect(kept.map(({ zone, outside }) => [zone, outside])).toEqual([
      ['end', 0],
      ['rest', 0],
    ]);
    expect(Math.max(...kept.map(({ farthestMm }) => farthestMm))).toBeLessThan(1e-9);
    expect(kept[1]!.scannedShare).toBeGreaterThan(0.95);
  });

  it('is told as one without stock', async () => {
    const { asGiven, stock } = await measured(
      seen(4000, () => 0, 5),
      { stock: undefined },
    );
    expect([asGiven.stock, stock, asGiven.zones.length]).toEqual([undefined, undefined, 2]);
  });
});
