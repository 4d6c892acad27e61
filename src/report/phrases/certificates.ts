import type { SupplierTrend } from '../../assessment/family/certificate-trend.js';
import { perUnit, tradeUnit } from '../../dossier/unit-text.js';
import { counted } from './counted.js';
import { besideSpread, probabilityText, spreadText } from './rounded.js';

/** Words of the trend of certificate values. */
export const CERTIFICATES = {
  chart: (property: string, supplier: string) => `${property}, by certificates of ${supplier}`,
  caption: 'Deliveries at the days on which they came; tips are bounds, and in no number.',
  delivered: 'Received',
  title: (property: string, ucum: string) => `${property}${perUnit(ucum)}`,
  otherUnits: (receipts: readonly string[]) =>
    receipts.length === 0 ? '' : `In a unit that measures something else, and left out: ${receipts.join(', ')}.`,
};

/** What one supplier delivered, and whether it drifts. */
export function supplierText(
  { points, mean, sd, drift }: SupplierTrend,
  ucum: string,
  { compared, least }: { readonly compared: number; readonly least: number },
): string {
  const unit = tradeUnit(ucum);
  const numbers =
    mean === null
      ? 'no value but bounds'
      : `mean ${besideSpread(mean, sd)}, standard deviation ${spreadText(sd)} ${unit}`;
  const trend =
    drift === null
      ? `fewer than ${least} values that differ: no drift can be told`
      : drift.isSeen
        ? `they drift by ${spreadText(drift.perDelivery)} ${unit} from one delivery to the next (Mann and Kendall, p ${probabilityText(drift.p)}${beside(compared)}): ask the supplier before it reaches the implants`
        : `no drift is seen (Mann and Kendall, p ${probabilityText(drift.p)}${beside(compared)})`;
  return `${counted(points.length, 'delivery', 'deliveries')}: ${numbers}; ${trend}.`;
}

const beside = (compared: number): string => (compared < 2 ? '' : `, one of ${compared} suppliers that were compared`);
