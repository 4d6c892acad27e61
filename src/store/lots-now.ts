import type { Lot } from '../kinds/lot.js';
import { type LotNow, lotNow } from '../kinds/split-lot.js';
import type { UnitMove } from '../kinds/unit-move.js';
import type { StoredRevision } from './entries.js';
import type { StoredLog } from './logs.js';
import type { Reads } from './repositories.js';

type Entries = Pick<Reads, 'entries'>;

/** Documents of the moves of a lot, in the order of their codes: of units that left it, and of those that came. */
export async function movesOfLot({ entries }: Entries, lot: string): Promise<StoredRevision<'unit-move'>[]> {
  return [
    ...(await entries.tiedTo('unit-move', 'lot', lot, 'moved from')),
    ...(await entries.tiedTo('unit-move', 'lot', lot, 'moved to')),
  ];
}

/** A lot as it is after the moves of its units. @throws NotFoundError */
export async function currentLot(read: Entries, code: string): Promise<LotNow> {
  const { body } = await read.entries.currentOrThrow('lot', code);
  return lotAfterMoves(read, body);
}

/** The same of a document of it, which may not be stored yet. */
export async function lotAfterMoves(read: Entries, own: Lot): Promise<LotNow> {
  const moves = (await movesOfLot(read, own.lot)).map(({ body }) => body);
  return lotNow(own, { origin: await originOf(read, own), moves });
}

async function originOf({ entries }: Entries, { splitFrom }: Lot): Promise<Lot | undefined> {
  return splitFrom === undefined ? undefined : (await entries.current('lot', splitFrom))?.body;
}

/** All lots as they are, in the order of their codes, with two questions for all of them. */
export async function currentLots({ entries }: Entries): Promise<LotNow[]> {
  const lots = (await entries.list('lot')).map(({ body }) => body);
  return lotsAfterMoves(
    lots,
    (await entries.list('unit-move')).map(({ body }) => body),
  );
}

export function lotsAfterMoves(lots: readonly Lot[], all: readonly UnitMove[]): LotNow[] {
  const byCode = new Map(lots.map((lot) => [lot.lot, lot]));
  return lots.map((lot) => {
    const moves = all.filter(({ fromLot, toLot }) => fromLot === lot.lot || toLot === lot.lot);
    return lotNow(lot, { origin: lot.splitFrom === undefined ? undefined : byCode.get(lot.splitFrom), moves });
  });
}

/** Codes of the lots in which values and logs of a lot are kept: of one that was split, the lot of the build too. */
export const keptUnder = ({ lot, splitFrom }: Pick<Lot, 'lot' | 'splitFrom'>): string[] =>
  splitFrom === undefined ? [lot] : [splitFrom, lot];

/** Values of the parts of a lot, in whichever lot they came. */
export async function resultsOf(read: Pick<Reads, 'results'>, lot: LotNow): ReturnType<Reads['results']['ofLot']> {
  if (lot.splitFrom === undefined) return read.results.ofLot(lot.lot);
  const parts = new Set([...lot.implants.map(({ serial }) => serial), ...lot.coupons.map(({ coupon }) => coupon)]);
  const found = [await read.results.ofLot(lot.splitFrom), await read.results.ofLot(lot.lot)];
  return {
    rows: found.flatMap(({ rows }) => rows).filter(({ specimen }) => parts.has(specimen)),
    ledgerSeq: Math.max(...found.map(({ ledgerSeq }) => ledgerSeq)),
  };
}

/** Scans of the logs of the builds of a lot. */
export async function logsOf(read: Pick<Reads, 'logs'>, lot: LotNow): Promise<StoredLog[]> {
  if (lot.splitFrom === undefined) return read.logs.ofLot(lot.lot);
  const builds = new Set(lot.builds.map(({ build }) => build));
  return (await read.logs.ofLot(lot.splitFrom)).filter(({ facts }) => builds.has(facts.build));
}
