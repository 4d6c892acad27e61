import type { Implant } from '../kinds/lot.js';
import { fateOf } from '../kinds/lot-after-build.js';
import { unitStatesOf } from '../lots/unit-decisions.js';
import { CASE_HOLDS } from '../report/phrases/case-holds.js';
import { currentLot } from '../store/lots-now.js';
import type { Change } from '../store/repositories.js';

/** A document that was stored, and may change what a case asks for. */
interface Recorded {
  readonly kind: string;
  readonly key: string;
  readonly revision: number;
}

/** Which implants a document leaves without a plan that stands, and why, in words. */
interface Unplanned {
  readonly code: string;
  readonly reason: string;
  readonly holds: (implant: Pick<Implant, 'designIteration'>) => boolean;
}

/**
 * Puts implants on hold whose case was cancelled, or whose plan changed, in the change that stores the document that says
 * so. The hold names it as its cause; whoever lifts the hold answers for that, and the checks go on asking.
 */
export async function holdUnplanned(change: Change, recorded: Recorded): Promise<void> {
  const unplanned = await unplannedBy(change, recorded);
  if (unplanned === undefined) return;
  const { kind, key, revision } = recorded;
  const units = await change.entries.unitsOfCase(unplanned.code);
  for (const lot of [...new Set(units.map((unit) => unit.lot))].sort()) {
    const body = await currentLot(change, lot);
    const serials = body.implants
      .filter((implant) => implant.case === unplanned.code && unplanned.holds(implant))
      .map(({ serial }) => serial);
    const states = await unitStatesOf(change, lot, serials);
    const held = states
      .filter(({ serial, hold, decision }) => !hold && decision !== 'rejected' && !fateOf(body, serial))
      .map(({ serial }) => serial)
      .sort();
    if (held.length === 0) continue;
    await change.events.add(
      { type: 'hold-placed', lot, units: held, cause: { kind, key, revision } },
      unplanned.reason,
    );
  }
}

async function unplannedBy({ entries }: Change, { kind, key, revision }: Recorded): Promise<Unplanned | undefined> {
  if (kind === 'case-design') {
    return {
      code: key,
      reason: CASE_HOLDS.laterIteration(key, revision),
      holds: ({ designIteration }) => designIteration < revision,
    };
  }
  if (kind !== 'case') return undefined;
  const { designIteration, status } = (await entries.revision('case', key, revision))!.body;
  const was = (await entries.revision('case', key, revision - 1))?.body;
  if (status?.is === 'cancelled' && was?.status?.is !== 'cancelled') {
    return { code: key, reason: CASE_HOLDS.cancelled(key), holds: () => true };
  }
  if (was === undefined || was.designIteration === designIteration) return undefined;
  return {
    code: key,
    reason: CASE_HOLDS.anotherIteration(key, designIteration),
    holds: (implant) => implant.designIteration !== designIteration,
  };
}
