import { z } from 'zod';
import { canonicalJson } from '../dossier/canonical.js';
import { hasSignedText } from '../dossier/public-key.js';
import type { PersonKeys } from './person-keys.js';

/** That a person vouches with their key for something of their own. */
const BY_OWNER = {
  key: z
    .string()
    .regex(/^[0-9a-f]{64}$/)
    .describe('fingerprint of the key of the person'),
  signature: z.string().describe('Ed25519 (RFC 8032) by that key, base64'),
};

/** A passkey as the audit trail names it: its person vouches for it with their key. */
export const PASSKEY = {
  person: z.string(),
  credential: z.string().describe('identifier that the authenticator gave it, base64url'),
  label: z.string().describe('what its person calls it'),
  algorithm: z.enum(['ES256', 'EdDSA', 'RS256']),
  publicPem: z.string(),
  host: z.string().describe('for which it was made (RP ID)'),
  counter: z.int().nonnegative(),
  ...BY_OWNER,
};
export const Passkey = z.strictObject(PASSKEY);
export type Passkey = z.infer<typeof Passkey>;

/** That it was used: for which form, and where its counter stood then. */
export const PASSKEY_USE = {
  person: z.string(),
  credential: z.string(),
  counter: z.int().nonnegative(),
  form: z.string().describe('address that the form was sent to'),
};

/** That it is taken away. */
export const PASSKEY_END = { person: z.string(), credential: z.string(), ...BY_OWNER };
const PasskeyEnd = z.strictObject(PASSKEY_END);
export type PasskeyEnd = z.infer<typeof PasskeyEnd>;

type Unsigned<T> = Omit<T, 'signature'>;

/** What the key of the person signs when a passkey is made. */
export const passkeyText = (passkey: Unsigned<Passkey>): string => canonicalJson({ what: 'passkey', ...passkey });

/** The same when it is taken away. */
export const passkeyEndText = (end: Unsigned<PasskeyEnd>): string => canonicalJson({ what: 'passkey-end', ...end });

export type PasskeyNamed =
  | { readonly made: Passkey; readonly at: number }
  | { readonly ended: PasskeyEnd; readonly at: number };

/**
 * Follows passkeys: each counts while the key of its person that vouches for it is in use. So a key that takes the place of
 * a lost one, for which two people vouch, ends the passkeys beside it too.
 * @param named in the order in which it was recorded, `at` entries of the ledger.
 * @returns those that count, and places at which something was named that its person did not sign, or
 *   under a name that was taken.
 */
export function passkeysOf(
  named: readonly PasskeyNamed[],
  { keys }: PersonKeys,
): { readonly passkeys: readonly Passkey[]; readonly unsigned: readonly PasskeyNamed[] } {
  const found = new Map<string, Passkey>();
  const unsigned: PasskeyNamed[] = [];
  for (const one of named) {
    const { person, credential, key, signature } = 'made' in one ? one.made : one.ended;
    const own = keys.get(key);
    const isInUse = own?.person === person && own.from <= one.at && (own.to === null || one.at <= own.to);
    if (!isInUse || !hasSignedText(own.publicPem, textOf(one), signature)) unsigned.push(one);
    // A name that is taken stays with whoever has it: otherwise one person could end the passkey of another.
    else if ('made' in one && (found.get(credential)?.person ?? person) !== person) unsigned.push(one);
    else if ('made' in one) found.set(credential, one.made);
    else if (found.get(credential)?.person === person) found.delete(credential);
  }
  const passkeys = [...found.values()].filter(({ key }) => keys.get(key)?.to === null);
  return { passkeys, unsigned };
}

function textOf(named: PasskeyNamed): string {
  if ('made' in named) {
    const { signature: _, ...made } = named.made;
    return passkeyText(made);
  }
  const { signature: _, ...ended } = named.ended;
  return passkeyEndText(ended);
}
