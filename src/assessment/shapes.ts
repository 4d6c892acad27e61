import type { Facts } from '../dossier/facts.js';
import { buildsOf, closuresOf } from '../kinds/build-chain.js';
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
  /** Undefined where it was not measured of what is there now. */
  readonly shape: ShapeDeviation | undefined;
}

/** Scans of the finished part of each implant whose case is given, in the order of the lot file. */
export function finalShapes({ lot, caseParts, stockParts }: Facts): FinalShape[] {
  return lot.body.implants.flatMap((implant) => {
    const part = caseParts.get(implant.case);
    if (part === undefined) return [];
    const { builtOn, designIteration } = implant;
    const hasMesh = builtOn !== undefined && stockParts.get(builtOn)?.body.mesh !== undefined;
    return finalScansOf(lot.body.scans, implant.serial).map((scan, index) => {
      const found = part.pinned.find(({ kind, key }) => kind === shapeDeviation.kind && key === shapeKey(scan));
      const read = found && readBody(shapeDeviation, found.body, () => {});
      const isOfNow = read?.iteration === designIteration && read.stock?.stockPart === (hasMesh ? builtOn : undefined);
      return { implant, scan, replicate: index + 1, shape: isOfNow ? read : undefined };
    });
  });
}

/**
 * A scan of a stock part that names another one of it: that one not after the chamber closed on the implant for the first time,
 * it not before the chamber opened for the last time.
 */
export interface StockChange {
  readonly implant: Implant;
  readonly scan: ShapeScan;
  readonly before: ShapeScan;
  /** Undefined where what is there now was not measured. */
  readonly change: ShapeChange | undefined;
}

/** Of each implant whose case is given, in the order of the lot file. */
export function stockChanges({ lot, caseParts }: Pick<Facts, 'lot' | 'caseParts'>): StockChange[] {
  const { implants, scans = [] } = lot.body;
  return implants.flatMap((implant) => {
    const part = caseParts.get(implant.case);
    if (part === undefined || implant.builtOn === undefined) return [];
    const around = builtBetween(lot.body, implant);
    const own = scans.filter(({ specimen }) => specimen === implant.serial);
    return own.flatMap((scan): StockChange[] => {
      const { against } = scan;
      const before = against.what === 'scan' ? own.find((one) => one.scan === against.scan) : undefined;
      if (before?.against.what !== 'stock part') return [];
      if (Date.parse(before.at) > around.closed || Date.parse(scan.at) < around.opened) return [];
      const found = part.pinned.find(({ kind, key }) => kind === shapeChange.kind && key === shapeKey(scan));
      const read = found && readBody(shapeChange, found.body, () => {});
      const isOfNow =
        read?.stockPart === implant.builtOn &&
        read?.before.scan === before.scan &&
        read.iteration === implant.designIteration;
      return [{ implant, scan, before, change: isOfNow ? read : undefined }];
    });
  });
}

/** When the chamber first closed and last opened on an implant, in milliseconds. */
function builtBetween(
  lot: Facts['lot']['body'],
  implant: Implant,
): { readonly closed: number; readonly opened: number } {
  const builds = closuresOf(implant)
    .flatMap((build) => buildsOf(lot, build))
    .filter(({ state }) => state !== 'planned');
  return {
    closed: Math.min(...builds.map(({ closedAt }) => Date.parse(closedAt))),
    opened: Math.max(...builds.map(({ openedAt }) => Date.parse(openedAt))),
  };
}
