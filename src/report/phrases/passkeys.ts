import { type CodedBy, codedText } from './coded.js';

/** Why what a passkey gave does not count. The rules: `src/people/passkeys/webauthn.ts` and `passkeys.ts` beside it. */
export const PASSKEY_FAULTS = {
  needed: () =>
    'this account has a passkey, which is needed beside the password: use the page in a browser that runs the script of this service',
  'needed at page': ({ page }: { page: string }) =>
    `this account has a passkey, which a command cannot ask for: use the page ${page}`,
  'not asked here': () =>
    'what the passkey signed was not asked for here, was used before, or was asked for too long ago; send the form again',
  'not readable': ({ what }: { what: string }) =>
    `what the passkey gave cannot be read (${what}); try again, or use another passkey`,
  'another type': () => 'the passkey was used for something else than this form asked for',
  'another challenge': () =>
    'the passkey signed something else than this form: nothing was done, open the page again and repeat it',
  'another origin': ({ found, expected }: { found: string; expected: string }) =>
    `the passkey was used on ${found}, and this is ${expected}; nothing was done. If another site asked you for it, tell an administrator`,
  'another service': () => 'the passkey was made for another service',
  'nobody present': () => 'the passkey does not say that somebody touched it',
  'not verified': () =>
    'the passkey does not say that it checked who you are; set a PIN, a fingerprint or a face on it and try again',
  'another algorithm': ({ found }: { found: string }) =>
    `the passkey signs in a way that is not taken here (${found}); ES256, EdDSA with Ed25519 and RS256 from 2048 bits are`,
  'unknown credential': () => 'this passkey is none of this account; use one that *Your account* lists',
  'another person': () => 'this passkey was made for another account',
  'another signature': () => 'what the passkey signed does not belong to its key',
  'counter went back': ({ found, before }: { found: number; before: number }) =>
    `the counter of the passkey stands at ${found} and stood at ${before} before: there may be a copy of it. Nothing was done; take this passkey away on *Your account*, and tell an administrator`,
  'made already': () => 'this passkey is registered already',
  'too many': ({ most }: { most: number }) => `an account has at most ${most} passkeys; take one away first`,
  'no name': ({ host }: { host: string }) =>
    `browsers make passkeys for a name and not for ${host}: open this service by its name, at the machine itself as localhost`,
  'another host': ({ hosts }: { hosts: readonly string[] }) =>
    `the passkeys of this account were made for ${hosts.join(' and ')}: open this service by that name`,
  'no key': () => 'the key that your password opened is not yours any more; prove again who you are',
};

export type PasskeyFault = CodedBy<typeof PASSKEY_FAULTS>;

export const passkeyFaultText = (fault: PasskeyFault): string => codedText(PASSKEY_FAULTS, fault);

/** What pages say of passkeys. */
export const PASSKEY_WORDS = {
  failed: 'No passkey was used, and nothing was sent.',
  label: 'What you call it',
  labelHint: 'So that you know it again: the name of the device, or of the key on your ring.',
  passwordHint: 'It unlocks your key, which vouches for the passkey.',
  noName: (host: string) =>
    `Browsers make passkeys for a name and not for ${host}: open this service by its name, at the machine itself as localhost.`,
};
