import { createPublicKey, type KeyObject } from 'node:crypto';
import { sha256Hex } from './canonical.js';

export interface ReadKey {
  readonly pem: string;
  readonly key: KeyObject;
  /** Its SubjectPublicKeyInfo. */
  readonly der: Buffer;
  /** SHA-256 of the SubjectPublicKeyInfo, as `openssl pkey -pubin -outform DER` gives it. */
  readonly fingerprint: string;
}

/** Every change is signed under one key, and an audit looks at thousands: reading it takes longer than one check. */
let latest: ReadKey | undefined;

/** @throws Error when the text is no public key. */
export function readPublicKey(pem: string): ReadKey {
  if (latest?.pem === pem) return latest;
  const key = createPublicKey(pem);
  const der = key.export({ type: 'spki', format: 'der' });
  latest = { pem, key, der, fingerprint: sha256Hex(der) };
  return latest;
}

export const fingerprintOf = (publicKeyPem: string): string => readPublicKey(publicKeyPem).fingerprint;
