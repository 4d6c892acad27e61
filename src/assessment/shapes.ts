import type { Facts } from '../dossier/facts.js';
import { type ShapeChange, shapeChange } from '../kinds/degradation/shape-change.js';
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

/** A later scan of a stock part that names an earlier one of it: before and after the implant was built on it. */
export interface StockChange {
  readonly implant: Implant;
  readonly scan: ShapeScan;
  readonly before: ShapeScan;
  /** Undefined where it was not measured. */
  readonly change: ShapeChange | undefined;
}

/** Of each implant whose case is given, in the order of the lot file. */
export function stockChanges({ lot, caseParts }: Pick<Facts, 'lot' | 'caseParts'>): StockChange[] {
  const { implants, scans = [] } = lot.body;
  return implants.flatMap((implant) => {
    const part = caseParts.get(implant.case);
    if (part === undefined || implant.builtOn === undefined) return [];
    const own = scans.filter(({ specimen }) => specimen === implant.serial);
    return own.flatMap((scan): StockChange[] => {
      const { against } = scan;
      const before = against.what === 'scan' ? own.find((one) => one.scan === against.scan) : undefined;
      if (before?.against.what !== 'stock part') return [];
      const found = part.pinned.find(({ kind, key }) => kind === shapeChange.kind && key === shapeKey(scan));
      return [{ implant, scan, before, change: found && readBody(shapeChange, found.body, () => {}) }];
    });
  });
}
