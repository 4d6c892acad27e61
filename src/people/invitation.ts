import { currentOf, linkText, type PersonKeys, vouchingNeeded } from '../ledger/person-keys.js';
import type { AccountObjection } from '../report/phrases/account-objections.js';
import type { Change } from '../store/repositories.js';
import type { Account } from './account-state.js';
import { type OneTimeLink, publicKeyOfLink } from './one-time-link.js';
import type { Pen } from './own-key.js';
import { Proof } from './proof.js';

/** Spends all proofs on one act that signs with the keys of their people. */
export function signingAll<T>(
  [proof, ...others]: readonly Proof[],
  act: (pens: readonly Pen[]) => Promise<T>,
  pens: readonly Pen[] = [],
): Promise<T> {
  if (proof === undefined) return act(pens);
  return Proof.signing(proof, (pen) => signingAll(others, act, [...pens, pen]));
}

/** Why these people cannot vouch for the next key of a person, or undefined when they can. @param vouching their codes. */
export function vouchingObjection(
  keys: PersonKeys['keys'],
  person: string,
  vouching: readonly string[],
): AccountObjection | undefined {
  if (vouching.includes(person)) return { code: 'vouches for oneself' };
  if (new Set(vouching).size < vouching.length) return { code: 'vouches twice' };
  return vouching.length < vouchingNeeded(keys, person) ? { code: 'needs more people' } : undefined;
}

/** Records a one-time link, for whose person these people vouch. */
export async function addInvitation(
  change: Change,
  { person, name }: Pick<Account, 'person' | 'name'>,
  oneTimeLink: OneTimeLink,
  { pens, reason, atMachine }: { pens: readonly Pen[]; reason?: string | undefined; atMachine?: true },
): Promise<OneTimeLink> {
  const { tokenSha256, expiresAt } = oneTimeLink;
  const { keys } = (await change.events.knownKeys()).people;
  const link = publicKeyOfLink(oneTimeLink);
  const replaces = currentOf(keys, person)?.fingerprint ?? null;
  const text = linkText({ person, name, replaces, link });
  const endorsements = pens.map((pen) => ({ person: pen.person, key: pen.fingerprint, signature: pen.sign(text) }));
  const marked = atMachine ? { atMachine } : {};
  await change.events.add(
    { type: 'invitation-made', person, tokenSha256, expiresAt, link, replaces, endorsements, ...marked },
    reason,
  );
  return oneTimeLink;
}
