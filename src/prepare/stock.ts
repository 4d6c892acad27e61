import { powderSharesOfState } from '../assessment/powder-shares.js';
import { gramsLeft } from '../intake/powder-rules.js';
import { sharesText } from '../report/phrases/powder-shares.js';
import { PREPARE_STEPS } from '../report/phrases/prepare-steps.js';
import type { Reads } from '../store/repositories.js';

/** Something that a build may take. */
export interface StockItem {
  readonly code: string;
  readonly what: string;
  /** Grams that are left; undefined where nobody weighed it. */
  readonly leftG: string | undefined;
  readonly shares: string;
  /** The first day on which something of it expires, where that is recorded. */
  readonly expiry: string | undefined;
  readonly isOver: boolean;
}

/** More than lie in one cell. */
const MOST_LISTED = 40;

/** Powder that is left, the latest first. @param today calendar date. */
export async function powderStock(read: Reads, today: string): Promise<StockItem[]> {
  const states = (await read.entries.list('powder-state')).map((state) => [state.key, state] as const);
  const receipts = (await read.entries.list('receipt')).map((receipt) => [receipt.key, receipt] as const);
  const all = { powderStates: new Map(states), receipts: new Map(receipts) };
  const latest = [...all.powderStates.values()].sort((a, b) => Date.parse(b.body.madeAt) - Date.parse(a.body.madeAt));
  const found: StockItem[] = [];
  for (const { key: code, body } of latest) {
    const leftG = await gramsLeft('powder-state', code, read);
    if (leftG !== undefined && Number(leftG) <= 0) continue;
    const shares = powderSharesOfState(all, code);
    const days = shares.flatMap(({ receipt }) => all.receipts.get(receipt)?.body.expiry ?? []);
    const expiry = days.sort()[0];
    const what = PREPARE_STEPS.state(body.operation, body.hopper);
    found.push({
      code,
      what,
      leftG,
      shares: sharesText(shares),
      expiry,
      isOver: expiry !== undefined && expiry < today,
    });
    if (found.length === MOST_LISTED) break;
  }
  return found;
}

/** Gas that was accepted, the latest first. */
export async function gasStock(read: Reads, today: string): Promise<StockItem[]> {
  const gas = (await read.entries.list('receipt')).filter(
    ({ body }) => body.category === 'gas' && body.status === 'accepted',
  );
  gas.sort((a, b) => Date.parse(b.body.receivedAt) - Date.parse(a.body.receivedAt));
  return gas.slice(0, MOST_LISTED).map(({ key: code, body: { material, supplierLot, expiry } }) => ({
    code,
    what: PREPARE_STEPS.gas(material, supplierLot),
    leftG: undefined,
    shares: '',
    expiry,
    isOver: expiry !== undefined && expiry < today,
  }));
}
