import type { Facts } from '../dossier/facts.js';
import type { Implant } from '../kinds/lot.js';

/** The metal of the stock on which an implant was built. How much of the implant it is, nobody weighed. */
export interface StockMetal {
  readonly stockPart: string;
  readonly material: string;
  /** None where the receipt names none. */
  readonly heats: readonly { readonly supplier: string; readonly heat: string }[];
  /** Receipt of a bar; those of the powder of what was an implant. */
  readonly receipts: readonly string[];
  /** What it was, where it was made here; its lot is empty where the lot file does not tell it. */
  readonly was: { readonly implant: string; readonly lot: string } | undefined;
}

/** Undefined for an implant that was built on nothing. */
export function stockMetal(facts: Facts, { builtOn }: Implant): StockMetal | undefined {
  const stock = builtOn === undefined ? undefined : facts.stockParts.get(builtOn)?.body;
  if (stock === undefined) return undefined;
  const { stockPart, material, receipt, implant } = stock;
  if (implant !== undefined) {
    const origin = facts.stock.origins.find((one) => one.stockPart === stockPart);
    const heats = (origin?.heats ?? []).map((key) => {
      const [supplier = '', ...heat] = key.split(':');
      return { supplier, heat: heat.join(':') };
    });
    return { stockPart, material, heats, receipts: origin?.receipts ?? [], was: { implant, lot: origin?.lot ?? '' } };
  }
  const received = receipt === undefined ? undefined : facts.receipts.get(receipt)?.body;
  const heats = (received?.heats ?? []).map((heat) => ({ supplier: received!.supplier, heat }));
  return { stockPart, material, heats, receipts: receipt === undefined ? [] : [receipt], was: undefined };
}
