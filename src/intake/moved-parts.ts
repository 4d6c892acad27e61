import type { Declared } from '../kinds/kind.js';
import type { Lot } from '../kinds/lot.js';
import { lot as lotKind } from '../kinds/lot-document.js';
import { movesOfLot } from '../store/lots-now.js';
import type { Change } from '../store/repositories.js';

/** What a lot declares, each part with the lot in which it is: whoever asks for the lot of a part is led to that one. */
export async function declaredNow(change: Change, lot: Lot): Promise<Declared[]> {
  const nowIn = new Map<string, string>();
  for (const { body } of await movesOfLot(change, lot.lot)) {
    for (const part of [...(body.implants ?? []), ...(body.coupons ?? [])]) nowIn.set(part, body.toLot);
  }
  return lotKind.declares(lot).map((item) => {
    const isPart = item.kind === 'implant' || item.kind === 'coupon';
    const to = isPart ? nowIn.get(item.key) : undefined;
    return to === undefined ? item : { ...item, body: { ...(item.body as object), lot: to } };
  });
}

/** What a lot declares of the parts of a move that was stored just now. */
export async function declaredOfMove(change: Change, key: string): Promise<Declared[]> {
  const { body: move } = await change.entries.currentOrThrow('unit-move', key);
  const origin = await change.entries.current('lot', move.fromLot);
  if (origin === undefined) return [];
  const parts = new Set([...(move.implants ?? []), ...(move.coupons ?? [])]);
  return (await declaredNow(change, origin.body)).filter(
    ({ kind, key: part }) => (kind === 'implant' || kind === 'coupon') && parts.has(part),
  );
}
