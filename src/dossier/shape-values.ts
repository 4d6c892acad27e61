import { conversion } from '../base/units.js';
import { judgedOf, type ShapeDeviation } from '../kinds/degradation/shape-deviation.js';
import type { Characteristic } from '../kinds/specification.js';

/** A value that a scan gives for a characteristic, as it is reported. */
export interface ShapeValue {
  readonly value: string;
  readonly ucum: '%' | 'mm';
  /** Empty where the scan states none of its points. */
  readonly standardUncertainty: string;
}

/**
 * What a scan says of a characteristic from shapes: in a unit of length the distance of the farthest point, else the share of
 * points outside the profile.
 * @param isOf whether a zone of the design is one that the characteristic speaks of.
 * What is of a stock part is in none of it: that is judged by the design, apart from what was built.
 * @returns undefined where no such zone has a profile and a point, or the scan is not judged at all.
 */
export function shapeValue(
  shape: ShapeDeviation,
  { ucum }: Pick<Characteristic, 'ucum'>,
  isOf: (zone: string) => boolean,
): ShapeValue | undefined {
  const { uncertaintyMm } = shape.points;
  const zones = (judgedOf(shape)?.zones ?? []).filter(({ zone, outside }) => outside !== undefined && isOf(zone));
  if (zones.length === 0) return undefined;
  if (isLength(ucum)) {
    const farthest = Math.max(...zones.map(({ farthestMm }) => farthestMm));
    const standardUncertainty = uncertaintyMm === undefined ? '' : String(uncertaintyMm);
    return { value: decimal(farthest), ucum: 'mm', standardUncertainty };
  }
  const sum = (of: (zone: (typeof zones)[number]) => number) => zones.reduce((total, zone) => total + of(zone), 0);
  const points = sum((zone) => zone.points);
  // By how much the share would change were each point off by its uncertainty to the one side or the other.
  const spread = (50 * sum(({ outsideNarrow = 0, outsideWide = 0 }) => outsideNarrow - outsideWide)) / points;
  return {
    value: decimal((100 * sum(({ outside }) => outside!)) / points),
    ucum: '%',
    standardUncertainty: uncertaintyMm === undefined ? '' : decimal(spread),
  };
}

const decimal = (value: number): string => value.toFixed(6).replace(/\.?0+$/, '');

/** Whether a unit is one of length: a characteristic in any other one asks for a share. */
export function isLength(ucum: string): boolean {
  try {
    return conversion(ucum, 'mm').factor > 0;
  } catch {
    return false;
  }
}
