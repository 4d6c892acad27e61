/** Ways that a surface may face: along each axis, to both ends. */
export const FACINGS = 6;

/** So that no plane between two axes, which designs have at 45 degrees, faces one way here and another there by rounding. */
const WEIGHTS = [1, 1.03, 1.07] as const;

/**
 * Which way a surface faces most, from 0 to 5. Both faces of a thin part lie in one cube of any grid: this tells them apart.
 * @param nx ny nz outward direction, of any length.
 */
export function facingOf(nx: number, ny: number, nz: number): number {
  const [x, y, z] = [Math.abs(nx) * WEIGHTS[0], Math.abs(ny) * WEIGHTS[1], Math.abs(nz) * WEIGHTS[2]];
  if (x >= y && x >= z) return nx < 0 ? 1 : 0;
  if (y >= z) return ny < 0 ? 3 : 2;
  return nz < 0 ? 5 : 4;
}
