import { stamp } from '../base/clock.js';
import { AppError } from '../base/errors.js';
import { localDay } from '../base/stamp.js';
import { actNamed } from '../people/acts.js';
import { type Authority, authorityFor } from '../people/authority.js';
import { signingAll } from '../people/invitation.js';
import type { Proof } from '../people/proof.js';
import { givenReason } from '../people/reason.js';
import { actNameText } from '../report/phrases/acts.js';
import { denialText } from '../report/phrases/authority.js';
import { candidateOn } from '../signing/situation.js';
import type { Change } from '../store/repositories.js';
import type { Store } from '../store/store.js';
import { legalHoldFrom } from './lot-retention.js';

const ACT = 'remove the bytes of evidence';

export interface RedactionResult {
  readonly sha256: string;
  readonly redactedAt: string;
  readonly persons: readonly string[];
}

/**
 * Removes the bytes of one evidence file for good, by two people of two roles who have both just shown who they are.
 * Its hash, its name and a tombstone stay; taking the same bytes in again brings nothing back. Backups made earlier
 * still hold them.
 * @throws AppError REFUSED without two proofs that served for nothing yet, without authority, or while a legal hold lies on a
 * lot that rests on it; ALTERED for an act on such a lot that nobody signed; NOT_FOUND when it is not known, CONFLICT when it
 * was redacted already; BadInputError without a reason.
 */
export async function redactEvidence(
  store: Store,
  sha256: string,
  proofs: readonly [Proof, Proof],
  reason: string,
): Promise<RedactionResult> {
  const [first, second] = proofs;
  const given = givenReason(reason, 'say why the bytes must go, so that a reader in fifteen years understands it');
  await store.read.evidence.info(sha256);
  const persons = [first.person, second.person];
  const refused = await signingAll(proofs, (pens) =>
    store.change(first.actor, async (change) => {
      const subject = { kind: 'evidence', key: sha256 };
      const earlier = await change.events.of(subject);
      if (earlier.some(({ event }) => event.type === 'evidence-redacted')) {
        throw new AppError('CONFLICT', `the bytes of evidence ${sha256} were removed already`);
      }
      await refuseUnderLegalHold(change, sha256);
      const day = localDay(stamp(store.clock));
      const candidates = [await candidateOn(change, first.person, day), await candidateOn(change, second.person, day)];
      const why = first.person === second.person ? denialText({ code: 'two people' }) : refusalOf(candidates);
      if (why === undefined) await change.events.act({ type: 'evidence-redacted', sha256, persons }, pens, given);
      else {
        await change.events.add({ type: 'act-refused', act: ACT, subject, lot: null, person: first.person, why });
      }
      return why;
    }),
  );
  if (refused !== undefined) throw new AppError('REFUSED', `you may not ${actNameText(ACT)}: ${refused}`, { act: ACT });
  // After the entry: when the program ends in between, the next check of integrity removes them.
  const redactedAt = store.clock.now().toISOString();
  await store.evidence.redact({ format: 1, sha256, redactedAt, persons });
  store.archives.remove(sha256);
  return { sha256, redactedAt, persons };
}

/** One of each role, in whichever order they came. */
function refusalOf(candidates: readonly Parameters<typeof authorityFor>[1][]): string | undefined {
  const act = actNamed(ACT);
  let why: string | undefined;
  for (const [one, other] of [candidates, [...candidates].reverse()]) {
    const authority = authorityFor(act, one!, {});
    const next: Authority = authority.may ? authorityFor(act, other!, {}, [authority.as.role]) : authority;
    if (next.may) return undefined;
    why ??= denialText(next.why);
  }
  return why;
}

/** Asked in the change itself: none comes between, and each that was lifted must have been lifted by a person. */
async function refuseUnderLegalHold({ trace, events }: Change, sha256: string): Promise<void> {
  for (const lot of await trace.lotsRestingOn(sha256)) {
    const hold = legalHoldFrom(await events.of({ kind: 'lot', key: lot }));
    if (hold) {
      throw new AppError('REFUSED', `lot ${lot} rests on this file and is under legal hold: ${hold.reason}`, { lot });
    }
  }
}
