import type { DesignIndex } from '../design-history/design-index.js';
import { firstClosedAt } from '../kinds/build-chain.js';
import { fateOf } from '../kinds/lot-after-build.js';
import { partsInside } from '../kinds/split-lot.js';
import { unitStates } from '../lots/unit-states.js';
import { lotStateText, NONE_LEFT } from '../report/phrases/lot-state.js';
import { baselinesInForce } from '../store/baseline-in-force.js';
import { bodyOf } from '../store/bodies.js';
import { lotsAfterMoves } from '../store/lots-now.js';
import type { Reads } from '../store/repositories.js';
import type { AsOf } from './as-of.js';

/** A lot of the family, as it stood at a moment. */
export interface LotMade {
  readonly lot: string;
  /** When its first chamber was closed; null while nothing was built. */
  readonly builtAt: string | null;
  readonly implants: number;
  /** In words, from what people decided until then. */
  readonly state: string;
  /** Of its last lot file; null where none was frozen. */
  readonly lotFileSha256: string | null;
  /** Name of the baseline that was in force when it was built; null where none was. */
  readonly baseline: string | null;
}

/** Every lot of the family that was on record then, in the order in which they were built. */
export async function lotsMade(read: Reads, design: DesignIndex, { size }: AsOf): Promise<LotMade[]> {
  const family = { kind: 'family', key: design.family };
  const revisions = (await read.entries.revisionsTiedTo(['lot'], family, 'of family')).filter(
    ({ ledgerSeq }) => ledgerSeq <= size,
  );
  const latest = new Map(revisions.map((one) => [one.key, bodyOf('lot', one.digest, one.text)]));
  const digests = await read.lotFiles.digestsOf([...latest.keys()], size);
  const until = <T extends { readonly ledgerSeq: number }>(all: readonly T[]): T[] =>
    all.filter(({ ledgerSeq }) => ledgerSeq <= size);
  const baselineAt = await baselinesInForce(read, design.family);
  const moves = until(await read.entries.list('unit-move')).map(({ body }) => body);
  const lots: LotMade[] = [];
  for (const now of lotsAfterMoves([...latest.values()], moves)) {
    const { lot } = now;
    // Of what was split from another lot, the builds of its own units there: as its lot file has it.
    const builtAt = firstClosedAt(now) ?? null;
    const statements = until(await read.signatures.of({ kind: 'lot file', key: lot }));
    const events = until(await read.events.of({ kind: 'lot', key: lot }));
    const serials = partsInside(now).implants.map(({ serial }) => serial);
    // Of what was used up by a test nobody decides any more.
    const states = unitStates(serials, statements, events).filter(
      ({ serial, decision }) => decision !== 'open' || fateOf(now, serial) === undefined,
    );
    lots.push({
      ...{ lot, builtAt, implants: serials.length },
      state: states.length === 0 && serials.length > 0 ? NONE_LEFT : lotStateText(states),
      lotFileSha256: digests.get(lot) ?? null,
      baseline: builtAt === null ? null : (baselineAt(builtAt)?.body.name ?? null),
    });
  }
  return lots.sort((a, b) => byMoment(a.builtAt ?? LAST, b.builtAt ?? LAST) || (a.lot < b.lot ? -1 : 1));
}

const LAST = '9999-12-31T00:00:00Z';
const byMoment = (a: string, b: string): number => Date.parse(a) - Date.parse(b);
