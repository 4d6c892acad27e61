import type { Facts } from '../dossier/facts.js';
import type { PowderShare } from './powder-shares.js';

/** How much of a powder, or of what a build took, is of one heat; of several where a receipt holds them mixed. */
export interface HeatShare {
  readonly supplier: string;
  /** None where the receipt names no heat. */
  readonly heats: readonly string[];
  /** Receipts by which it came. */
  readonly receipts: readonly string[];
  /** Mass fraction, above 0 and at most 1. */
  readonly fraction: number;
}

/** Shares of receipts joined by heat, the largest first: one heat may have come in several deliveries. */
export function heatShares({ receipts }: Pick<Facts, 'receipts'>, shares: readonly PowderShare[]): HeatShare[] {
  const found = new Map<string, HeatShare>();
  for (const { receipt, fraction } of shares) {
    const { supplier, heats } = receipts.get(receipt)!.body;
    // What names no heat is told apart by its receipt.
    const key = JSON.stringify(heats.length > 0 ? [supplier, ...[...heats].sort()] : [receipt]);
    const known = found.get(key);
    found.set(key, {
      supplier,
      heats: known?.heats ?? heats,
      receipts: [...(known?.receipts ?? []), receipt],
      fraction: (known?.fraction ?? 0) + fraction,
    });
  }
  return [...found.values()].sort((a, b) => b.fraction - a.fraction);
}
