import { z } from 'zod';
import { timeText } from '../dossier/time-text.js';
import { stockLeft } from '../intake/powder-rules.js';
import { STOCK } from '../report/phrases/stock.js';
import { usesOf } from '../store/consumable-uses.js';
import type { Reads } from '../store/repositories.js';
import { type Turned, turned } from '../web/turned.js';

/** So many of each sort stand on one page; more are turned over. */
const ON_A_PAGE = 40;
/** What expires within so many days is told as expiring. */
const EXPIRING_DAYS = 30;
const DAY_MS = 86_400_000;

export const SHOWN_RECEIPTS = ['all', 'quarantine', 'expired', 'expiring'] as const;
export type ShownReceipts = (typeof SHOWN_RECEIPTS)[number];

/** What of a receipt decides where it stands: of thousands only those on the page are read whole. */
const Standing = z.looseObject({ receivedAt: z.string(), expiry: z.string().optional(), status: z.string() });

/** Each row made of its thing, one after the other. */
async function madeOf<T, R>(page: Turned<T>, make: (one: T) => Promise<R>): Promise<Turned<R>> {
  const rows: R[] = [];
  for (const one of page.rows) rows.push(await make(one));
  return { ...page, rows };
}

/** Receipts, the latest first, with how many stand how. @param today calendar date. */
export async function receiptStock(read: Reads, today: string, shown: ShownReceipts, from: number) {
  const soon = new Date(Date.parse(today) + EXPIRING_DAYS * DAY_MS).toISOString().slice(0, 10);
  const all = (await read.entries.list('receipt')).map((revision) => {
    const { receivedAt, expiry, status } = Standing.parse(JSON.parse(revision.text));
    const isOver = expiry !== undefined && expiry < today;
    const ends =
      status === 'rejected' || expiry === undefined || expiry > soon ? undefined : isOver ? 'expired' : 'expiring';
    return { revision, receivedAt: Date.parse(receivedAt), status, ends };
  });
  const isShown = ({ status, ends }: (typeof all)[number], as: ShownReceipts) =>
    as === 'all' || (as === 'quarantine' ? status === 'quarantine' : ends === as);
  const own = all.filter((one) => isShown(one, shown)).sort((a, b) => b.receivedAt - a.receivedAt);
  return {
    counts: SHOWN_RECEIPTS.map((as) => ({ as, count: all.filter((one) => isShown(one, as)).length })),
    ...(await madeOf(turned(own, from, ON_A_PAGE), async ({ revision: { key, body }, ends }) => ({
      ...body,
      received: body.receivedAt.slice(0, 10),
      ends,
      ...(await leftOf('receipt', key, read)),
    }))),
  };
}

/** Powder states, the latest first. */
export async function powderOnStock(read: Reads, from: number) {
  const states = (await read.entries.list('powder-state')).sort(
    (a, b) => Date.parse(b.body.madeAt) - Date.parse(a.body.madeAt),
  );
  return madeOf(turned(states, from, ON_A_PAGE), async ({ key, body }) => ({
    ...body,
    made: timeText(body.madeAt),
    ...(await leftOf('powder-state', key, read)),
  }));
}

async function leftOf(kind: 'receipt' | 'powder-state', key: string, read: Reads) {
  const found = await stockLeft(kind, key, read);
  return {
    left: found ? STOCK.amount(found.left, found.measure) : STOCK.notStated,
    reserved: found && Number(found.reserved) > 0 ? STOCK.amount(found.reserved, found.measure) : '',
  };
}

/** Media, tools, baths and the like that are in use, the latest first, with how often each was used and may be. */
export async function consumablesInUse(read: Reads, from: number) {
  const inUse = (await read.entries.list('consumable'))
    .filter(({ body }) => body.retiredAt === undefined)
    .sort((a, b) => Date.parse(b.body.inUseFrom) - Date.parse(a.body.inUseFrom));
  return madeOf(turned(inUse, from, ON_A_PAGE), async ({ key, body }) => {
    const most = await usesAllowed(read, body.materialSpecification);
    const uses = (await usesOf(read, key)).reduce((sum, one) => sum + one.uses, 0);
    return {
      ...{ consumable: key, category: body.category, material: body.material, since: timeText(body.inUseFrom) },
      uses: STOCK.uses(uses, most),
      isOver: most !== undefined && uses >= most,
    };
  });
}

async function usesAllowed({ entries }: Reads, named: { material: string; revision: number } | undefined) {
  if (named === undefined) return undefined;
  return (await entries.revision('material-specification', named.material, named.revision))?.body.inUseLimit?.uses;
}
