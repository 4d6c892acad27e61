import type { Surface } from './surface.js';

/** How far the mesh of a zone may lie from that of the part, beside the diagonal of the part. */
export const SAME_PLACE = 1e-4;

/** A region of a part by the nominal surface: a point belongs to it whose nearest point of the surface lies there. */
export interface ShapeZone {
  readonly zone: string;
  /** From corner to corner, in mm: `[x0, y0, z0, x1, y1, z1]`; else a mesh of the region. */
  readonly box?: readonly number[];
  readonly mesh?: Surface;
  /** How far the surface may lie outside and inside the nominal one, in mm; undefined where nothing is asked. */
  readonly outsideMm?: number;
  readonly insideMm?: number;
}

/**
 * Whether a place of the nominal surface belongs to a zone.
 * @param near how far the mesh of a zone may lie from it: both were made of the same surface, not of the same triangles.
 */
export function isInZone({ box, mesh }: ShapeZone, x: number, y: number, z: number, near: number): boolean {
  if (box) {
    const [x0, y0, z0, x1, y1, z1] = box as [number, number, number, number, number, number];
    return x >= x0 && x <= x1 && y >= y0 && y <= y1 && z >= z0 && z <= z1;
  }
  return mesh?.nearest(x, y, z, near) ?? false;
}
