import type { Facts } from '../dossier/facts.js';

/** Of the surface of a zone, in percent, where no specification says how much: less of it says nothing of the zone. */
export const LEAST_SCANNED_PERCENT = 50;

/** A share of a surface in percent, to the one decimal that is told and judged. */
export const percentScanned = (share: number): number => Number((100 * share).toFixed(1));

/** How much of a zone a scan has to show, in percent, and what the specification says of a class that no scanner sees whole. */
export function leastScanned({ specification }: Pick<Facts, 'specification'>, zoneClass: string | undefined) {
  const { shape } = specification.body;
  const unseen = shape?.unseen?.find((one) => one.zoneClass === zoneClass);
  const percent = unseen?.leastScannedPercent ?? shape?.leastScannedPercent;
  return {
    percent: percent === undefined ? LEAST_SCANNED_PERCENT : Number(percent),
    isStated: shape !== undefined,
    unseen,
  };
}
