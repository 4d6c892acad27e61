import { BadInputError, type Problem } from '../../src/base/errors.js';
import { DeviationCount } from '../../src/shape/deviations.js';
import { measureShape, type ShapeRequest } from '../../src/shape/measure-shape.js';
import type { Mesh } from '../../src/shape/mesh.js';
import { BLOCK_POINTS } from '../../src/shape/point-block.js';
import { temporaryFolder } from '../support/cell.js';
import { box, plyBinary, pointsOn, sequence, stlBinary, torus, wedge, written } from '../support/shapes.js';

const folder = temporaryFolder('shape-measure');

function requestOf(mesh: Mesh, points: Float64Array, more: Partial<ShapeRequest> = {}): ShapeRequest {
  return {
    points: {
      file: { path: written(folder, 'scan.ply', plyBinary(points)), name: 'scans/end.ply', form: 'ply' },
      mm: 1,
    },
    mesh: { file: { path: written(folder, 'part.stl', stlBinary(mesh)), name: 'models/part.stl' }, mm: 1 },
    zones: [],
    judged: 'as given',
    ...more,
  };
}

const problem = async (request: ShapeRequest): Promise<Problem> => {
  const error = await measureShape(request).catch((raised: unknown) => raised);
  expect(error).toBeInstanceOf(BadInputError);
  return (error as BadInputError).problems[0]!;
};

describe('a block with a bump on one half of its top', () => {
  const mesh = box(100, 40, 10);
  const random = sequence(2);
  // 0.3 mm out on the top right of x = 50, and nothing anywhere else.
  const flat = pointsOn(mesh, 1500, () => 0, random);
  const points = flat.map((value, at) => {
    const [x, z] = [flat[at - (at % 3)]!, flat[at - (at % 3) + 2]!];
    return at % 3 === 2 && x > 50 && z === 10 ? value + 0.3 : value;
  });
  const bumped = Array.from({ length: 1500 }, (_, k) => k).filter((k) => points[k * 3 + 2]! > 10);
  const zones = [
    { zone: 'left', box: [-1, -1, -1, 50, 41, 11], outsideMm: 0.2, insideMm: 0.1 },
    { zone: 'right', box: [50, -1, -1, 101, 41, 11], outsideMm: 0.2, insideMm: 0.1 },
    { zone: 'nowhere', box: [200, 0, 0, 201, 1, 1], outsideMm: 0.2 },
  ];

  it('is told zone by zone, with the share outside, percentiles and the worst point', async () => {
    const {
      asGiven,
      leastSquares,
      views,
      mesh: of,
      points: read,
    } = await measureShape(requestOf(mesh, points, { zones }));
    const [left, right, nothing] = asGiven.zones;
    expect(nothing).toBeUndefined();
    expect(left).toMatchObject({ zone: 'left', outside: 0 });
    expect(right).toMatchObject({ zone: 'right', outside: bumped.length });
    expect(left!.points + right!.points).toBe(1500);
    expect(right!.worst.deviationMm).toBeCloseTo(0.3, 9);
    expect(right!.worst.at[2]).toBeCloseTo(10.3, 9);
    expect(Math.abs(left!.percentilesMm['99'])).toBeLessThan(0.001);
    expect(right!.percentilesMm['99']).toBeCloseTo(0.3, 2);
    expect(asGiven.unreached).toBe(0);
    expect(read.points).toBe(1500);
    expect(of).toMatchObject({ triangles: 12, findings: [] });
    // A fit hides a part of the bump, and both are told.
    expect(leastSquares!.zones[1]!.worst.deviationMm).toBeLessThan(0.3);
    expect(leastSquares!.residualMm!).toBeLessThan(asGiven.all!.rmsMm);
    const top = views.find(({ along }) => along === 'z')!;
    expect(top.rows[0]!.slice(0, Math.floor(50 / top.squareMm)).every((value) => Math.abs(value ?? 0) <= 1)).toBe(true);
    expect(top.rows.flat()).toContain(300);
    expect(Math.max(top.columns, top.rows.length)).toBeLessThanOrEqual(51);
  });

  it('fits to the datums alone where some are named: the bump stays as high as it is', async () => {
    const named = zones.map((zone) => ({ ...zone, isDatum: zone.zone === 'left' }));
    const { leastSquares } = await measureShape(requestOf(mesh, points, { zones: named }));
    expect(leastSquares!.residualMm!).toBeLessThan(1e-6);
    expect(leastSquares!.zones[1]!.worst.deviationMm).toBeCloseTo(0.3, 4);
  });

  it('is told how much of each zone has a point near', async () => {
    const kept = Array.from({ length: 1500 }, (_, k) => [...flat.subarray(k * 3, k * 3 + 3)]);
    const of = async (isKept: (x: number) => boolean) => {
      const some = Float64Array.from(kept.filter(([x]) => isKept(x!)).flat());
      const { asGiven } = await measureShape(requestOf(mesh, some, { zones }));
      return asGiven.zones.map(({ scannedShare }) => scannedShare!);
    };
    const [left, right] = await of(() => true);
    expect(Math.min(left!, right!)).toBeGreaterThan(0.9);
    const [half, whole] = await of((x) => x > 25);
    expect(half).toBeGreaterThan(0.35);
    expect(half).toBeLessThan(0.6);
    expect(whole).toBe(right);
    const [few] = await of((x) => x > 49);
    expect(few).toBeLessThan(0.2);
  });

  it('takes a zone by a mesh of the same surface, and refuses one that lies off it', async () => {
    const part = (name: string, of: Mesh) => ({
      zone: 'top',
      mesh: { path: written(folder, name, stlBinary(of)), name: `models/${name}` },
      outsideMm: 0.2,
    });
    const top = (z: number): Mesh => ({
      corners: Float64Array.from([0, 0, z, 100, 0, z, 100, 40, z, 0, 40, z]),
      triangles: Uint32Array.from([0, 1, 2, 0, 2, 3]),
    });
    const { asGiven } = await measureShape(requestOf(mesh, flat, { zones: [part('on.stl', top(10))] }));
    expect(asGiven.zones[0]!.scannedShare).toBeGreaterThan(0.9);
    expect(await problem(requestOf(mesh, flat, { zones: [part('off.stl', top(10.1))] }))).toMatchObject({
      code: 'zone-mesh-off',
      file: 'models/off.stl',
    });
  });

  it('finds the datums of a scan that lies half the part away', async () => {
    const away = points.map((value, at) => value + [50, 20, 0][at % 3]!);
    const named = zones.map((zone) => ({ ...zone, isDatum: zone.zone === 'left' }));
    const { leastSquares } = await measureShape(requestOf(mesh, away, { zones: named, judged: 'least squares' }));
    expect(leastSquares!.residualMm!).toBeLessThan(1e-6);
    expect(leastSquares!.zones[1]!.worst.deviationMm).toBeCloseTo(0.3, 4);
  });

  it('says the same of a scan that the scanner states a motion for', async () => {
    const away = points.map((value, at) => (at % 3 === 0 ? -value : at % 3 === 1 ? -value : value + 7));
    const given = [-1, 0, 0, 0, 0, -1, 0, 0, 0, 0, 1, -7];
    const own = await measureShape(requestOf(mesh, points, { zones }));
    const { asGiven } = await measureShape(requestOf(mesh, away, { zones, given }));
    expect(asGiven.zones.map(({ outside, points: count }) => [outside, count])).toEqual(
      own.asGiven.zones.map(({ outside, points: count }) => [outside, count]),
    );
  });
});

it('puts blocks together in their order: a scan of many blocks has the sums of its points', async () => {
  const mesh = wedge();
  const count = BLOCK_POINTS * 2 + 17;
  const random = sequence(8);
  const deviations = Array.from({ length: count }, () => random() * 0.2);
  const told: number[] = [];
  const { asGiven } = await measureShape(
    requestOf(
      mesh,
      pointsOn(mesh, count, (index) => deviations[index]!),
    ),
    ({ doneBytes, totalBytes }) => told.push(doneBytes / totalBytes),
  );
  expect(asGiven.all!.points).toBe(count);
  expect(asGiven.all!.meanMm).toBeCloseTo(deviations.reduce((a, b) => a + b) / count, 9);
  expect(told.at(-1)).toBe(1);
  expect(told).toEqual([...told].sort((a, b) => a - b));
});

it('ends early when it is cancelled', async () => {
  const cancel = new AbortController();
  const request = requestOf(
    wedge(),
    pointsOn(wedge(), 40_000, () => 0),
  );
  const told: number[] = [];
  const work = measureShape(
    request,
    ({ doneBytes }) => {
      told.push(doneBytes);
      cancel.abort();
    },
    cancel.signal,
  );
  await expect(work).rejects.toMatchObject({ name: 'AbortError' });
  expect(told).toHaveLength(1);
});

it('gives percentiles to the step, whatever their number', () => {
  const count = new DeviationCount({ zone: 'all' }, 5);
  for (let index = 0; index < 1000; index += 1) count.add((index - 500) / 1000 + 0.0005, index, 0, 0);
  const { percentilesMm, worst } = count.told()!;
  expect(percentilesMm['50']).toBeCloseTo(0, 2);
  expect(percentilesMm['1']).toBeCloseTo(-0.49, 2);
  expect(percentilesMm['99']).toBeCloseTo(0.49, 2);
  expect(worst.deviationMm).toBeCloseTo(-0.4995, 9);
});

it('guards a band that is wider on one side, and keeps the farthest point beside the one farthest beyond it', () => {
  const count = new DeviationCount({ zone: 'all', outsideMm: 1, insideMm: 0.05 }, 5, 0.01);
  for (const deviation of [0.5, -0.06, 0.002, -0.045]) count.add(deviation, deviation, 0, 0);
  const { worst, ...told } = count.told()!;
  expect(worst.deviationMm).toBe(-0.06);
  expect(told).toMatchObject({ farthestMm: 0.5, outside: 1, outsideNarrow: 2, outsideWide: 0 });
  const oneSided = new DeviationCount({ zone: 'all', outsideMm: 1, insideMm: 0 }, 5, 0.01);
  oneSided.add(0.005, 0, 0, 0);
  expect(oneSided.told()).toMatchObject({ outside: 0, outsideNarrow: 1, outsidePerhaps: 1, outsideSurely: 0 });
  const guarded = new DeviationCount({ zone: 'all', outsideMm: 1, insideMm: 1 }, 5, 0.01);
  for (const deviation of [0.983, 0.984, 1.016, 1.017]) guarded.add(deviation, 0, 0, 0);
  expect(guarded.told()).toMatchObject({ outside: 2, outsideWide: 2, outsidePerhaps: 3, outsideSurely: 1 });
});

describe('a scan in another sense', () => {
  const mesh = wedge();
  const points = pointsOn(mesh, 800, (index) => ((index % 7) - 3) * 0.01);
  const signed = (x: number, y: number, z: number) => points.map((value, at) => value * [x, y, z][at % 3]!);
  const near = (shift: readonly number[], all: Float64Array) => all.map((value, at) => value + shift[at % 3]!);

  it.each<[name: string, points: Float64Array, code: string, found: RegExp]>([
    ['of the other side', near([40, 0, 0], signed(-1, 1, 1)), 'shape-mirrored', /mirrored along x/],
    ['mirrored where it lies', near([0, 0, 10], signed(1, 1, -1)), 'shape-mirrored', /mirrored/],
    ['turned by a half', near([40, 25, 0], signed(-1, -1, 1)), 'shape-turned', /around z/],
    ['in inches', signed(1 / 25.4, 1 / 25.4, 1 / 25.4), 'shape-unit', /inches taken for millimetres/],
    ['in millimetres that are told as inches', signed(25.4, 25.4, 25.4), 'shape-unit', /millimetres taken for inches/],
    ['in metres', signed(0.001, 0.001, 0.001), 'shape-unit', /metres taken for millimetres/],
    ['in another place', near([100, 0, 0], points), 'shape-elsewhere', /800 of 800 points/],
  ])('is refused %s', async (_name, turned, code, found) => {
    const told = await problem(requestOf(mesh, turned));
    expect(told).toMatchObject({ code, file: 'scans/end.ply' });
    expect(told.found).toMatch(found);
  });

  it('is refused of another part', async () => {
    expect(await problem(requestOf(torus(18, 5), points, { judged: 'least squares' }))).toMatchObject({
      code: 'shape-elsewhere',
    });
  });

  it('is taken where both senses fit alike, and in another place by least squares', async () => {
    const block = box(40, 25, 10);
    const mirrored = pointsOn(block, 1000, () => 0.01).map((value, at) => (at % 3 === 0 ? 40 - value : value));
    expect((await measureShape(requestOf(block, mirrored))).asGiven.all!.rmsMm).toBeCloseTo(0.01, 6);
    const away = await measureShape(requestOf(mesh, near([9, -6, 4], points), { judged: 'least squares' }));
    expect(away.leastSquares!.all!.rmsMm).toBeCloseTo(0.02, 2);
    expect(away.leastSquares!.unreached).toBe(0);
  });

  it('is taken of a region as small as the part would be in another unit', async () => {
    const block = box(100, 40, 10);
    const all = pointsOn(block, 40_000, () => 0.01);
    const region = Array.from({ length: 40_000 }, (_, k) => [...all.subarray(k * 3, k * 3 + 3)]).filter(
      ([x, y, z]) => x! < 8 && y! < 5 && z! < 5,
    );
    const { asGiven } = await measureShape(requestOf(block, Float64Array.from(region.flat())));
    expect(asGiven.all!.rmsMm).toBeCloseTo(0.01, 6);
  });

  it('converts the units that are stated', async () => {
    const request = requestOf(mesh, signed(1 / 25.4, 1 / 25.4, 1 / 25.4));
    const { asGiven } = await measureShape({ ...request, points: { ...request.points, mm: 25.4 } });
    expect(asGiven.all!.rmsMm).toBeCloseTo(0.02, 3);
  });
});
