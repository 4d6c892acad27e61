import fs from 'node:fs';
import { affineDimension, isInHull } from '../../src/statistics/convex-hull.js';

interface Hulls {
  readonly meta: { readonly cases: number; readonly inside: number };
  readonly cases: readonly {
    readonly points: string[][];
    readonly target: string[];
    readonly inside: boolean;
    readonly dimension: number;
    readonly kind: string;
  }[];
}
const HULLS = JSON.parse(fs.readFileSync('tests/reference/hulls.json', 'utf8')) as Hulls;

it('says of every case what a general linear program says (scipy.optimize.linprog, tests/reference/write-hulls.py)', () => {
  expect(HULLS.cases).toHaveLength(HULLS.meta.cases);
  expect(HULLS.meta.inside).toBeGreaterThan(100);
  expect(HULLS.meta.cases - HULLS.meta.inside).toBeGreaterThan(50);
  for (const { points, target, inside, dimension, kind } of HULLS.cases) {
    const named = `${kind} of ${points.length} points in ${target.length} dimensions`;
    expect(`${named}: ${isInHull(points, target)}`).toBe(`${named}: ${inside}`);
    expect(`${named}: ${affineDimension(points)}`).toBe(`${named}: ${dimension}`);
  }
});

const SQUARE = [
  ['0', '0'],
  ['0', '1'],
  ['1', '0'],
  ['1', '1'],
];

it.each([
  { name: 'middle', target: ['0.5', '0.5'], expected: true },
  { name: 'corner', target: ['1', '0'], expected: true },
  { name: 'edge', target: ['0.1', '0'], expected: true },
  { name: 'a last digit beyond the edge', target: ['0.1', '-0.000000000000000000001'], expected: false },
  { name: 'beyond the diagonal of a triangle', points: SQUARE.slice(0, 3), target: ['0.6', '0.5'], expected: false },
  {
    name: 'on that diagonal, in decimals no double holds',
    points: SQUARE.slice(0, 3),
    target: ['0.3', '0.7'],
    expected: true,
  },
])('$name of the unit square (by hand): $expected', ({ points = SQUARE, target, expected }) => {
  expect(isInHull(points, target)).toBe(expected);
});

/** Points and a target at a fixed seed, on a coarse grid, so that many lie on borders. */
function someCases(): { points: string[][]; target: string[] }[] {
  let state = 7;
  const next = (below: number) => {
    state = (state * 1103515245 + 12345) % 2147483648;
    return Math.floor((state / 2147483648) * below);
  };
  return Array.from({ length: 120 }, () => {
    const axes = 1 + next(4);
    const point = () => Array.from({ length: axes }, () => (next(7) / 10).toFixed(1));
    return { points: Array.from({ length: 1 + next(8) }, point), target: point() };
  });
}

it('says the same whatever the order of points, and in whatever units', () => {
  for (const { points, target } of someCases()) {
    const said = isInHull(points, target);
    expect(isInHull([...points].reverse(), target)).toBe(said);
    const other = (text: string, axis: number) => String(BigInt(text.replace('.', '')) * (axis % 2 ? 254n : 10n));
    expect(
      isInHull(
        points.map((point) => point.map(other)),
        target.map(other),
      ),
    ).toBe(said);
  }
});

it('never takes a point out of the hull for a further one', () => {
  let inside = 0;
  for (const { points, target } of someCases()) {
    const said = points.map((_, index) => isInHull(points.slice(0, index + 1), target));
    inside += said.filter(Boolean).length;
    expect(said.lastIndexOf(false)).toBe(said.indexOf(true) < 0 ? said.length - 1 : said.indexOf(true) - 1);
  }
  expect(inside).toBeGreaterThan(20);
});

it('refuses no points, other numbers of coordinates, and what is no decimal', () => {
  expect(() => isInHull([], ['1'])).toThrow('points');
  expect(() => affineDimension([])).toThrow('points');
  expect(() => isInHull([['1', '2']], ['1'])).toThrow('target');
  expect(() => isInHull([['1', '2'], ['1']], ['1', '2'])).toThrow('points');
  expect(() => isInHull([['one']], ['1'])).toThrow('points');
});
