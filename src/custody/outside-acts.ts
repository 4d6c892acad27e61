import { stamp } from '../base/clock.js';
import { AppError } from '../base/errors.js';
import { localDay } from '../base/stamp.js';
import { parseCheckpoint } from '../ledger/checkpoint.js';
import { successionText } from '../ledger/key-chain.js';
import type { LinkEndorsement } from '../ledger/person-keys.js';
import { renewalText, type Signer } from '../ledger/signed-acts.js';
import { signingAll } from '../people/invitation.js';
import type { Proof } from '../people/proof.js';
import { givenReason } from '../people/reason.js';
import { candidateOn } from '../signing/situation.js';
import { InstallationKey } from '../store/installation-key.js';
import { passphraseGiven } from '../store/key-passphrase.js';
import type { Store } from '../store/store.js';

/** Two people who have both just shown who they are. */
export type TwoProofs = readonly [Proof, Proof];

export interface LostKeyReplaced {
  readonly replaced: string;
  readonly fingerprint: string;
  readonly persons: readonly string[];
}

/**
 * Puts a new installation key in the place of a lost one, by two people. The audit trail names both keys and the people,
 * and the anchor names both keys, since the lost one can vouch for nothing. Where the anchor is lost with the key it is
 * made anew.
 * @throws AppError CONFLICT while the key is there, BUSY while a service runs, REFUSED for people who may not.
 */
export async function replaceLostKey(store: Store, proofs: TwoProofs, reason: string): Promise<LostKeyReplaced> {
  const given = givenReason(reason, 'say how the key was lost');
  const { folder, key, anchor } = store;
  if (key.isHeld) throw new AppError('CONFLICT', `the key ${key.fingerprint} is not lost: use keys rotate`);
  await store.standAlone();
  const persons = await twoPeople(store, proofs);
  const next = InstallationKey.prepare(folder.path, passphraseGiven());
  const { fingerprint, publicPem } = next;
  const succession = { replaces: key.fingerprint, fingerprint, persons };
  const acceptance = next.sign(successionText(succession)).toString('base64');
  const signatures = await signingAll(proofs, async (pens) => signaturesBy(pens, successionText(succession)));
  const hasAnchor = anchor.exists;
  const loss = { replaces: key.fingerprint, fingerprint };
  // Before the change is stored: a key that the anchor does not know would stop every later one.
  await store.tellElsewhere(loss);
  await store.change(
    proofs[0].actor,
    async (change) => {
      await change.events.add(
        { type: 'key-made', purpose: 'installation', publicPem, acceptance, signatures, ...succession },
        given,
      );
      if (hasAnchor) anchor.addAfterLoss(loss);
    },
    next,
  );
  InstallationKey.takeOver(folder.path);
  if (!hasAnchor) await store.anchorAnew(null);
  return { replaced: key.fingerprint, fingerprint, persons };
}

export interface RenewedAnchor {
  readonly size: number;
  readonly root: string;
  readonly persons: readonly string[];
  /** An address that holds heads of the audit trail that was left, and is no second place any more. */
  readonly leftAddress: string | null;
}

/**
 * Accepts the audit trail as it is, by two people: after an older database was put back on purpose, or the anchor was
 * lost. What the anchor held before stands in the audit trail, so that everybody sees from where the folder went back.
 * @param store opened without its anchor.
 * @throws AppError BUSY while a service runs, REFUSED for people who may not.
 */
export async function renewAnchor(store: Store, proofs: TwoProofs, reason: string): Promise<RenewedAnchor> {
  const given = givenReason(reason, 'say why the audit trail is right as it is');
  await store.standAlone();
  const persons = await twoPeople(store, proofs);
  const leaves = store.addressElsewhere;
  const left = leaves === undefined ? {} : { leaves };
  const before = headBefore(store);
  const { ledgerSize, root } = await signingAll(proofs, (pens) =>
    store.change(proofs[0].actor, async (change) => {
      // Its entry follows at once on what is accepted: it counts in no other place.
      const ledgerSize = change.ledger.sizeNow();
      const renewal = { persons, before, ledgerSize, root: await change.ledger.root(ledgerSize), ...left };
      const signatures = signaturesBy(pens, renewalText(renewal));
      await change.events.add({ type: 'anchor-renewed', ...renewal, signatures }, given);
      return renewal;
    }),
  );
  await store.anchorAnew(null);
  store.renewElsewhere();
  // What witnesses keep is of the audit trail that was left: heads are given to them anew, in other folders.
  store.folder.with({ drops: undefined });
  return { size: ledgerSize, root, persons, leftAddress: leaves ?? null };
}

function headBefore({ anchor }: Store): { size: number; root: string } | null {
  try {
    const { head } = anchor.read();
    if (head === null) return null;
    const { size, root } = parseCheckpoint(head.text);
    return { size, root };
  } catch {
    return null;
  }
}

/** Two people, one of whom is an administrator. */
async function twoPeople(store: Store, proofs: TwoProofs): Promise<string[]> {
  const persons = proofs.map(({ person }) => person);
  const day = localDay(stamp(store.clock));
  const roles = await Promise.all(persons.map(async (person) => (await candidateOn(store.read, person, day)).roles));
  if (persons[0] === persons[1]) throw new AppError('REFUSED', 'two different people are needed');
  if (!roles.flat().some(({ role }) => role === 'administrator')) {
    throw new AppError('REFUSED', 'one of the two must be an administrator');
  }
  return persons;
}

const signaturesBy = (pens: readonly Signer[], text: string): LinkEndorsement[] =>
  pens.map((pen) => ({ person: pen.person, key: pen.fingerprint, signature: pen.sign(text) }));
