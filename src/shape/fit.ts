import { type Alignment, align } from './align.js';
import { AT_REST, type Motion, moved } from './motion.js';
import type { Surface } from './surface.js';

/**
 * A fit to the points of the places by which a part is held, or to all that lie near where no place is named.
 * @param sample three coordinates of each point, in mm. @param reach how far a surface may lie from a point that is held.
 * @param across diagonal of the part.
 * @param held whether a place of the surface, the nearest one of a point, is one by which the part is held.
 * @returns undefined where too few points lie there.
 */
export function fitHeld(
  sample: Float64Array,
  surface: Surface,
  reach: number,
  across: number,
  held: ((x: number, y: number, z: number) => boolean) | undefined,
): Alignment | undefined {
  const isHeld = (x: number, y: number, z: number) =>
    surface.nearest(x, y, z, across) && (held === undefined || held(surface.x, surface.y, surface.z));
  /** Points that lie on such a place once they are moved, as they were before. */
  const heldBy = (motion: Motion) => {
    const laid = new Float64Array(sample.length);
    moved(motion, sample, laid, sample.length / 3);
    const kept: number[] = [];
    for (let at = 0; at < sample.length; at += 3)
      if (isHeld(laid[at]!, laid[at + 1]!, laid[at + 2]!)) kept.push(...sample.subarray(at, at + 3));
    return Float64Array.from(kept);
  };
  // First with everything in sight, so that a scan in another frame comes near; then without what is none of the part.
  const rough = held === undefined ? AT_REST : align(sample, surface, across).motion;
  let points = heldBy(rough);
  if (points.length < 9) return undefined;
  const near = align(points, surface, across, rough);
  // What holds nothing draws the rough place a little: which points lie on such a place is asked again.
  if (held !== undefined) points = heldBy(near.motion);
  const fit = align(points, surface, reach, near.motion);
  return fit.points < 3 ? undefined : fit;
}
