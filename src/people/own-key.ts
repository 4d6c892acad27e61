import {
  createCipheriv,
  createDecipheriv,
  createPrivateKey,
  createPublicKey,
  type KeyObject,
  randomBytes,
  sign,
} from 'node:crypto';
import { AppError } from '../base/errors.js';
import { canonicalJson } from '../dossier/canonical.js';
import { fingerprintOf } from '../dossier/public-key.js';
import type { WrappedKey } from '../ledger/password-lock.js';
import type { Signer } from '../ledger/signed-acts.js';

const CIPHER = 'aes-256-gcm';
/** What stands before the 32 bytes of an Ed25519 key in PKCS #8 (RFC 8410). */
const PKCS8 = Buffer.from('302e020100300506032b657004220420', 'hex');

/** The 32 bytes from which an Ed25519 key is made (RFC 8032), with its public half. Whoever holds them wipes them. */
export interface OwnSeed {
  readonly seed: Buffer;
  readonly publicPem: string;
  readonly fingerprint: string;
}

export function makeSeed(): OwnSeed {
  const seed = randomBytes(32);
  const publicPem = pemOf(keyFromSeed(seed));
  return { seed, publicPem, fingerprint: fingerprintOf(publicPem) };
}

/** @throws Error when there are not 32 bytes. */
export function keyFromSeed(seed: Buffer): KeyObject {
  const der = Buffer.concat([PKCS8, seed]);
  try {
    return createPrivateKey({ key: der, format: 'der', type: 'pkcs8' });
  } finally {
    der.fill(0);
  }
}

export const pemOf = (key: KeyObject): string =>
  createPublicKey(key).export({ type: 'spki', format: 'pem' }).toString();

export const signWith = (key: KeyObject, text: string): string =>
  sign(null, Buffer.from(text, 'utf8'), key).toString('base64');

/** A wrapped key opens for its own person alone: that of another in its place does not. */
const boundTo = (person: string, fingerprint: string): Buffer => Buffer.from(canonicalJson({ person, fingerprint }));

/** @param secret the 32 bytes that the password gives. */
export function wrapSeed(
  { seed, fingerprint }: Pick<OwnSeed, 'seed' | 'fingerprint'>,
  person: string,
  secret: Buffer,
): WrappedKey {
  const iv = randomBytes(12);
  const cipher = createCipheriv(CIPHER, secret, iv).setAAD(boundTo(person, fingerprint));
  const bytes = Buffer.concat([cipher.update(seed), cipher.final()]);
  const [ivText, tag, text] = [iv, cipher.getAuthTag(), bytes].map((part) => part.toString('base64'));
  return { cipher: CIPHER, fingerprint, iv: ivText!, tag: tag!, seed: text! };
}

/** @throws AppError ALTERED when it is not the key that was wrapped for this person with this password. */
export function unwrapSeed({ fingerprint, iv, tag, seed }: WrappedKey, person: string, secret: Buffer): Buffer {
  const [ivBytes, tagBytes, bytes] = [iv, tag, seed].map((text) => Buffer.from(text, 'base64'));
  try {
    const cipher = createDecipheriv(CIPHER, secret, ivBytes!, { authTagLength: 16 })
      .setAAD(boundTo(person, fingerprint))
      .setAuthTag(tagBytes!);
    return Buffer.concat([cipher.update(bytes!), cipher.final()]);
  } catch {
    throw new AppError(
      'ALTERED',
      `the key of ${person} that is stored does not open with their password: run ledger verify`,
    );
  }
}

/** What signs with the key of a person, for the length of one act. */
export interface Pen extends Signer {
  readonly name: string;
  /** Opens the key for this one signature, and wipes it again. */
  sign(text: string): string;
}

export function penOf(person: string, name: string, wrapped: WrappedKey, secret: Buffer): Pen {
  const { fingerprint } = wrapped;
  return {
    person,
    name,
    fingerprint,
    sign(text) {
      const seed = unwrapSeed(wrapped, person, secret);
      try {
        return signWith(keyFromSeed(seed), text);
      } finally {
        seed.fill(0);
      }
    },
  };
}
