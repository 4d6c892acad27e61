import type { Facts } from '../dossier/facts.js';
import { type ShapeDeviation, shapeDeviation, shapeKey } from '../kinds/degradation/shape-deviation.js';
import { readBody } from '../kinds/formats.js';
import type { Implant } from '../kinds/lot.js';
import { finalScansOf, type ShapeScan } from '../kinds/lot-after-build.js';

/** A scan of a finished implant that is held against its design. */
export interface FinalShape {
  readonly implant: Implant;
  readonly scan: ShapeScan;
  /** The replicate that its values are. */
  readonly replicate: number;
  /** Undefined where it was not measured. */
  readonly shape: ShapeDeviation | undefined;
}

/** Scans of the finished part of each implant whose case is given, in the order of the lot file. */
export function finalShapes({ lot, caseParts }: Facts): FinalShape[] {
  return lot.body.implants.flatMap((implant) => {
    const part = caseParts.get(implant.case);
    if (part === undefined) return [];
    return finalScansOf(lot.body.scans, implant.serial).map((scan, index) => {
      const found = part.pinned.find(({ kind, key }) => kind === shapeDeviation.kind && key === shapeKey(scan));
      const shape = found && readBody(shapeDeviation, found.body, () => {});
      return { implant, scan, replicate: index + 1, shape };
    });
  });
}
