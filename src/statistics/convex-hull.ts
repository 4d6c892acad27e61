import { type Decimal, parseDecimal } from '../base/decimal.js';
import { CalculationError } from '../base/errors.js';

/*
 * Whether a point lies among others. Coordinates are decimals as documents state them, and all arithmetic is on whole
 * numbers: a point on the border is inside, whatever units are used, and no tolerance decides.
 */

/** Coordinates in the order of the axes, as decimal texts. */
export type ExactPoint = readonly string[];

/**
 * How many dimensions points span: 0 for one point, 1 for points on a line, and so on.
 * @throws CalculationError with field `points` where there are none, or they have different numbers of coordinates.
 */
export function affineDimension(points: readonly ExactPoint[]): number {
  const [first, ...others] = wholeNumbers(points);
  return rankOf(others.map((point) => point.map((value, axis) => value - first![axis]!)));
}

/**
 * Whether a point is a mean, with whatever weights, of some points: whether it lies in their convex hull, its border
 * included. Weights λ ≥ 0 with Σλ = 1 and Σλp = target are looked for by the first phase of the simplex method on whole
 * numbers; each division in it has no remainder.
 * Source: G. B. Dantzig, Linear Programming and Extensions (1963), chapter 5; R. G. Bland, Mathematics of Operations
 * Research 2 (1977) for the rule that ends every stall; E. H. Bareiss, Mathematics of Computation 22 (1968) for the
 * divisions (all from memory).
 * @throws CalculationError with field `points` or `target`: none, or another number of coordinates, or no decimal.
 */
export function isInHull(points: readonly ExactPoint[], target: ExactPoint): boolean {
  if (points.length === 0) throw new CalculationError('points', 'needs at least 1 point');
  if (target.length !== points[0]!.length) {
    throw new CalculationError('target', `has ${target.length} coordinates, the points have ${points[0]!.length}`);
  }
  const [wanted, ...distinct] = wholeNumbers([target, ...unique(points)]);
  const isBeyond = wanted!.some(
    (value, axis) => distinct.every((point) => value < point[axis]!) || distinct.every((point) => point[axis]! < value),
  );
  if (isBeyond) return false;
  const least = wanted!.map((_, axis) => leastBelow(distinct.map((point) => point[axis]!)));
  // From the least of each axis nothing is negative, so that the weights of the start are a solution of the first phase.
  const rows = wanted!.map((value, axis) => [
    ...distinct.map((point) => point[axis]! - least[axis]!),
    value - least[axis]!,
  ]);
  return isFeasible([...rows, [...distinct.map(() => 1n), 1n]]);
}

/** Each axis times a power of ten of its own, so that all its values are whole. */
function wholeNumbers(points: readonly ExactPoint[]): bigint[][] {
  const axes = points[0]?.length;
  if (axes === undefined) throw new CalculationError('points', 'needs at least 1 point');
  const read = points.map((point, index) => {
    if (point.length === axes) return point.map((text) => parseDecimal(text, 'points'));
    throw new CalculationError('points', `point ${index} has ${point.length} coordinates, the first one ${axes}`);
  });
  const scales = Array.from({ length: axes }, (_, axis) => Math.max(...read.map((point) => point[axis]!.scale)));
  return read.map((point) => point.map((value, axis) => atScale(value, scales[axis]!)));
}

const atScale = ({ coefficient, scale }: Decimal, wanted: number): bigint =>
  coefficient * 10n ** BigInt(wanted - scale);

const unique = (points: readonly ExactPoint[]): ExactPoint[] => [
  ...new Map(points.map((point) => [point.join(' '), point])).values(),
];

const leastBelow = (values: readonly bigint[]): bigint => [...values].sort((a, b) => (a < b ? -1 : 1))[0]!;

/** Elimination without fractions. */
function rankOf(given: readonly (readonly bigint[])[]): number {
  const rows = given.map((row) => [...row]);
  const columns = rows[0]?.length ?? 0;
  let rank = 0;
  let before = 1n;
  for (let column = 0; column < columns; column++) {
    const found = rows.findIndex((row, index) => index >= rank && row[column] !== 0n);
    if (found < 0) continue;
    [rows[rank], rows[found]] = [rows[found]!, rows[rank]!];
    const pivotRow = rows[rank]!;
    const pivot = pivotRow[column]!;
    for (const row of rows.slice(rank + 1)) {
      const factor = row[column]!;
      for (let at = column; at < columns; at++) row[at] = (row[at]! * pivot - factor * pivotRow[at]!) / before;
    }
    before = pivot;
    rank += 1;
  }
  return rank;
}

/**
 * Whether the equations have a solution in which nothing is negative.
 * @param equations rows of coefficients, the right side last, which is not negative.
 */
function isFeasible(equations: readonly (readonly bigint[])[]): boolean {
  const columns = equations[0]!.length - 1;
  const rows = equations.map((row) => [...row]);
  // What the artificial variables of all rows still amount to, with its sign turned: all of it has to go.
  const cost = Array.from({ length: columns + 1 }, (_, at) => rows.reduce((sum, row) => sum - row[at]!, 0n));
  // Artificial variables are numbered behind the others, and never come back.
  const basis = rows.map((_, index) => columns + index);
  let divisor = 1n;
  let isStalled = false;
  while (cost[columns] !== 0n) {
    const entering = isStalled ? cost.findIndex((value, at) => at < columns && value < 0n) : leastOf(cost, columns);
    if (entering < 0) return false;
    const leaving = leavingRow(rows, basis, entering, columns);
    if (leaving < 0) return false;
    const pivotRow = rows[leaving]!;
    const pivot = pivotRow[entering]!;
    isStalled = pivotRow[columns] === 0n;
    for (const row of [...rows, cost]) if (row !== pivotRow) eliminate(row, pivotRow, entering, divisor);
    divisor = pivot;
    basis[leaving] = entering;
  }
  return true;
}

function eliminate(row: bigint[], pivotRow: readonly bigint[], column: number, divisor: bigint): void {
  const pivot = pivotRow[column]!;
  const factor = row[column]!;
  for (let at = 0; at < row.length; at++) row[at] = (row[at]! * pivot - factor * pivotRow[at]!) / divisor;
}

function leastOf(cost: readonly bigint[], columns: number): number {
  let found = -1;
  for (let at = 0; at < columns; at++) if (cost[at]! < (found < 0 ? 0n : cost[found]!)) found = at;
  return found;
}

/** The row that ends first as a variable grows; of several the one whose own variable has the least number. */
function leavingRow(
  rows: readonly (readonly bigint[])[],
  basis: readonly number[],
  entering: number,
  right: number,
): number {
  let found = -1;
  rows.forEach((row, index) => {
    if (row[entering]! <= 0n) return;
    if (found < 0) {
      found = index;
      return;
    }
    const [own, least] = [row[right]! * rows[found]![entering]!, rows[found]![right]! * row[entering]!];
    if (own < least || (own === least && basis[index]! < basis[found]!)) found = index;
  });
  return found;
}
