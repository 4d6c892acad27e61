import { originsOf } from '../assessment/stock.js';
import type { Facts } from '../dossier/facts.js';
import type { StockOrigin } from '../dossier/stock-story.js';
import type { Implant } from '../kinds/lot.js';
import { heatKey } from '../kinds/receipt.js';

/** The metal of the stock on which an implant was built. How much of the implant it is, nobody weighed. */
export interface StockMetal {
  readonly stockPart: string;
  readonly material: string;
  /** None where the receipt names none. */
  readonly heats: readonly { readonly supplier: string; readonly heat: string }[];
  /** Receipt of a bar; those of the powder of what was an implant. */
  readonly receipts: readonly string[];
  /** Of the receipt of a bar, as far as it has one. */
  readonly certificate: { readonly number: string | undefined; readonly expiry: string | undefined } | undefined;
  /** What it was, where it was made here; its lot is empty where the lot file does not tell it. */
  readonly was: { readonly implant: string; readonly lot: string } | undefined;
}

type Stock = NonNullable<StockOrigin['builtOn']>;

/** From the stock of an implant through that on which this was built to what came with a receipt; none for one built on nothing. */
export function stockMetals(facts: Facts, { builtOn }: Implant): StockMetal[] {
  const stock = builtOn === undefined ? undefined : facts.stockParts.get(builtOn)?.body;
  if (stock === undefined) return [];
  const { stockPart, material, implant, receipt } = stock;
  if (implant === undefined) {
    const paper = paperOf(facts, receipt);
    return [
      { ...metalOfBar({ stockPart, material, receipt: paper }), receipts: receipt === undefined ? [] : [receipt] },
    ];
  }
  const origins = originsOf(facts.stock, stockPart);
  if (origins.length === 0)
    return [metalOfFormer({ stockPart, material }, { implant, lot: '', heats: [], receipts: [] })];
  const bar = origins.at(-1)!.builtOn;
  return [
    ...origins.map((origin, index) => metalOfFormer(index === 0 ? stock : origins[index - 1]!.builtOn!, origin)),
    ...(bar === undefined || origins.some((one) => one.stockPart === bar.stockPart) ? [] : [metalOfBar(bar)]),
  ];
}

const metalOfFormer = (
  { stockPart, material }: Pick<Stock, 'stockPart' | 'material'>,
  { implant, lot, heats, receipts }: Pick<StockOrigin, 'implant' | 'lot' | 'heats' | 'receipts'>,
): StockMetal => ({
  ...{ stockPart, material, receipts, certificate: undefined },
  heats: heats.map(heatOf),
  was: { implant, lot },
});

const metalOfBar = ({ stockPart, material, receipt }: Stock): StockMetal => ({
  ...{ stockPart, material, receipts: receipt === undefined ? [] : [receipt.receipt] },
  heats: (receipt?.heats ?? []).map(heatOf),
  certificate: receipt && { number: receipt.certificate, expiry: receipt.expiry },
  was: undefined,
});

/** What a receipt of the lot file says, as a story tells it of others. */
function paperOf({ receipts }: Facts, code: string | undefined): Stock['receipt'] {
  const body = code === undefined ? undefined : receipts.get(code)?.body;
  if (body === undefined) return undefined;
  const { receipt, supplier, heats, certificate, expiry } = body;
  return { receipt, heats: heats.map((heat) => heatKey(supplier, heat)), certificate: certificate?.number, expiry };
}

function heatOf(key: string): StockMetal['heats'][number] {
  const [supplier = '', ...heat] = key.split(':');
  return { supplier, heat: heat.join(':') };
}
