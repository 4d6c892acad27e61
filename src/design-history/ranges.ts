import { affineDimension, isInHull } from '../statistics/convex-hull.js';

/*
 * What was shown so far, as points over axes, and where something new lies beside it. Nothing is drawn on beyond the
 * points: what is outside them was not shown, and what is inside was shown around it, which is no promise for it.
 */

/** Values on all axes, decimal texts in the units of the axes. */
export type Coordinates = readonly string[];

/** Where a value lies beside the least and the greatest that were shown. */
export type AxisSide = 'inside' | 'below' | 'above';

export interface AxisPlace {
  readonly demanded: string;
  readonly min: string;
  readonly max: string;
  /** How many different values were shown. */
  readonly distinct: number;
  readonly side: AxisSide;
}

export interface NearPoint {
  /** Its place in the list of points. */
  readonly point: number;
  /**
   * Root of the sum of squares of how far it is on each axis that was varied, as a part of the range shown there: 1 is as far
   * as the whole range of one setting.
   */
  readonly distance: number;
}

/** Where something lies beside what was shown. */
export interface Place {
  readonly axes: readonly AxisPlace[];
  readonly points: number;
  /** Axes on which more than one value was shown. */
  readonly varied: number;
  /** How many dimensions the points span: less than `varied` where settings were only ever changed together. */
  readonly dimension: number;
  /** Whether each value lies in the range of its axis. */
  readonly isInRanges: boolean;
  /** Whether it is a mean of points, with whatever weights: whether it lies in their convex hull. */
  readonly isInHull: boolean;
  /** Whether exactly this was done. */
  readonly isShown: boolean;
  /** All points, the nearest first; of those equally far in the order in which they came. */
  readonly near: readonly NearPoint[];
}

/**
 * @param points different from each other, each with as many coordinates as `demanded`.
 * @returns undefined where nothing was shown.
 * @throws CalculationError for what is no decimal, or another number of coordinates.
 */
export function placeOf(points: readonly Coordinates[], demanded: Coordinates): Place | undefined {
  if (points.length === 0) return undefined;
  const axes = demanded.map((value, axis) =>
    axisPlace(
      points.map((point) => point[axis]!),
      value,
    ),
  );
  const isInRanges = axes.every(({ side }) => side === 'inside');
  const near = nearPoints(points, demanded, axes);
  return {
    axes,
    points: points.length,
    varied: axes.filter(({ distinct }) => distinct > 1).length,
    dimension: affineDimension(points),
    isInRanges,
    isInHull: isInRanges && isInHull(points, demanded),
    isShown: isInRanges && points.some((point) => point.every((text, axis) => Number(text) === Number(demanded[axis]))),
    near,
  };
}

function axisPlace(values: readonly string[], demanded: string): AxisPlace {
  const sorted = [...values].sort((a, b) => Number(a) - Number(b));
  const [min, max] = [sorted[0]!, sorted.at(-1)!];
  const value = Number(demanded);
  return {
    ...{ demanded, min, max },
    distinct: new Set(values.map(Number)).size,
    side: value < Number(min) ? 'below' : value > Number(max) ? 'above' : 'inside',
  };
}

function nearPoints(points: readonly Coordinates[], demanded: Coordinates, axes: readonly AxisPlace[]): NearPoint[] {
  const ranges = axes.map(({ min, max }) => Number(max) - Number(min));
  const distanceOf = (point: Coordinates) =>
    Math.hypot(
      ...ranges.map((range, axis) => (range > 0 ? (Number(point[axis]) - Number(demanded[axis])) / range : 0)),
    );
  return points
    .map((point, index) => ({ point: index, distance: Number(distanceOf(point).toPrecision(9)) }))
    .sort((a, b) => a.distance - b.distance || a.point - b.point);
}
