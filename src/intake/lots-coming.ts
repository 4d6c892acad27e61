import type { Lot } from '../kinds/lot.js';
import { type LotNow, lotNow } from '../kinds/split-lot.js';
import { movesOfLot } from '../store/lots-now.js';
import type { Reads } from '../store/repositories.js';
import { bodyIf, type Known } from './known.js';
import type { ReadDocument } from './yaml-document.js';

/** A lot as it will be after its moves, those that come in together with it among them. */
export async function lotComing(
  own: Lot,
  documents: readonly ReadDocument[],
  known: Known,
  read: Reads,
): Promise<LotNow> {
  const fresh = documents.flatMap((document) => bodyIf('unit-move', document) ?? []);
  const stored = (await movesOfLot(read, own.lot)).map(({ body }) => body);
  const moves = new Map([...stored, ...fresh].map((move) => [move.move, move]));
  const origin = own.splitFrom === undefined ? undefined : await known.body('lot', own.splitFrom);
  return lotNow(own, { origin, moves: [...moves.values()] });
}
