import { align } from './align.js';
import { diagonalOf, extentOf } from './mesh.js';
import { AT_REST } from './motion.js';
import type { ShapeFault } from './shape-fault.js';
import type { Surface } from './surface.js';

const UNITS: readonly (readonly [factor: number, told: string])[] = [
  [25.4, 'inches taken for millimetres'],
  [10, 'centimetres taken for millimetres'],
  [1000, 'metres taken for millimetres'],
];

/** How near a ratio of sizes has to come to that of two units. A scan rarely shows all of a part. */
const NEAR = 0.1;

interface OtherUnit {
  /** By which the scan is to be multiplied. */
  readonly factor: number;
  readonly told: string;
}

/** The unit that the size of a scan speaks for, where it is not the one that is stated. */
function otherUnit(points: readonly number[], mesh: readonly number[]): OtherUnit | undefined {
  const ratio = diagonalOf(mesh) / diagonalOf(points);
  for (const [factor, told] of UNITS) {
    if (Math.abs(ratio / factor - 1) <= NEAR) return { factor, told };
    const reversed = told.split(' taken for ').reverse().join(' taken for ');
    if (Math.abs(ratio * factor - 1) <= NEAR) return { factor: 1 / factor, told: reversed };
  }
  return undefined;
}

const short = (value: number): string => String(Number(value.toPrecision(3)));

/** Other senses that a scan may have come in, as signs along the three axes. An odd number of minuses mirrors. */
const SENSES = [
  [-1, 1, 1],
  [1, -1, 1],
  [1, 1, -1],
  [-1, -1, 1],
  [-1, 1, -1],
  [1, -1, -1],
] as const;

/** How much better another sense has to fit: of a part that is nearly the same in both nothing can be told. */
const BETTER = 4;
/** A fit that gains less in a step shows well enough how it ends. */
const CLEAR = 0.02;
/** Beside the diagonal of scan or part: a fit as good as this is right, whatever else fits too. */
const RIGHT = 1e-6;

/**
 * Whether a scan fits its part much better in another unit, mirrored, or turned by a half, than as it is. Each is laid on the
 * part by least squares before it is compared: a scan in another place is not taken for one of the other side, nor one of a
 * small region for one in another unit.
 * @param sample few points of the scan, in mm, as they are to be judged.
 * @param points extent of all of them; @param mesh that of the part.
 */
export function senseFault(
  sample: Float64Array,
  surface: Surface,
  points: readonly number[],
  mesh: readonly number[],
): ShapeFault | undefined {
  const across = diagonalOf(mesh);
  const middle = middleOf(mesh);
  const own = middleOf(extentOf(sample));
  const fitted = (points: Float64Array) => align(points, surface, across, AT_REST, CLEAR).residualMm;
  const laid = (factors: readonly [number, number, number]) =>
    sample.map((value, at) => (value - own[at % 3]!) * factors[at % 3]! + middle[at % 3]!);
  const plain = Math.min(fitted(sample), fitted(laid([1, 1, 1])));
  if (plain <= RIGHT * Math.min(across, diagonalOf(points))) return undefined;
  const unit = otherUnit(points, mesh);
  // Both by the size of the scan as it came: a tiny one lies near whatever it is laid on.
  const inUnit = unit && fitted(laid([unit.factor, unit.factor, unit.factor])) / unit.factor;
  if (unit && inUnit! * BETTER < plain) {
    return {
      code: 'shape-unit',
      found: `a scan of ${short(diagonalOf(points))} mm across beside a mesh of ${short(across)} mm, as of ${unit.told}`,
      expected: 'a scan about as large as its part',
      remedy: 'correct the unit of the scan or of the mesh, and look what else was written in it',
    };
  }
  const others = SENSES.map((signs) => ({ signs, residual: fitted(laid(signs)) }));
  const best = others.reduce((one, other) => (other.residual < one.residual ? other : one));
  if (best.residual * BETTER >= plain) return undefined;
  const isMirrored = best.signs[0] * best.signs[1] * best.signs[2] < 0;
  const axis = 'xyz'[[...best.signs].indexOf(isMirrored ? -1 : 1)];
  const how = isMirrored ? `mirrored along ${axis}` : `turned by a half around ${axis}`;
  return {
    code: isMirrored ? 'shape-mirrored' : 'shape-turned',
    found: `a scan that lies within ${short(best.residual)} mm of the part when ${how}, and within ${short(plain)} mm as it is`,
    expected: 'a scan of this part in its own sense',
    remedy: isMirrored
      ? 'look whether it is the part of the other side, or an export that swapped an axis'
      : 'turn the scan into the frame of the mesh before it is exported',
  };
}

const middleOf = (extent: readonly number[]): [number, number, number] => [
  (extent[0]! + extent[3]!) / 2,
  (extent[1]! + extent[4]!) / 2,
  (extent[2]! + extent[5]!) / 2,
];
