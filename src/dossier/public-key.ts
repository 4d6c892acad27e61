import { createPublicKey, type KeyObject, verify } from 'node:crypto';
import { sha256Hex } from './canonical.js';

export interface ReadKey {
  readonly pem: string;
  readonly key: KeyObject;
  /** Its SubjectPublicKeyInfo. */
  readonly der: Buffer;
  /** SHA-256 of the SubjectPublicKeyInfo, as `openssl pkey -pubin -outform DER` gives it. */
  readonly fingerprint: string;
}

/** A cell has a dozen keys, and an audit looks at thousands of signatures: reading a key takes longer than one check. */
const read = new Map<string, ReadKey>();
const MOST_READ = 200;

/** @throws Error when the text is no public key. */
export function readPublicKey(pem: string): ReadKey {
  const known = read.get(pem);
  if (known) return known;
  const key = createPublicKey(pem);
  const der = key.export({ type: 'spki', format: 'der' });
  if (read.size >= MOST_READ) read.clear();
  const made = { pem, key, der, fingerprint: sha256Hex(der) };
  read.set(pem, made);
  return made;
}

export const fingerprintOf = (publicKeyPem: string): string => readPublicKey(publicKeyPem).fingerprint;

/** The same few signatures under the keys of people are asked at every act; an answer depends on nothing but these three. */
const answered = new Map<string, boolean>();
const MOST_ANSWERED = 2000;

/** Whether a key signed a text (Ed25519, RFC 8032). What cannot be read as a key signed nothing. */
export function hasSignedText(publicPem: string, text: string, signature: string | null | undefined): boolean {
  if (!signature) return false;
  const asked = sha256Hex(JSON.stringify([publicPem, text, signature]));
  const known = answered.get(asked);
  if (known !== undefined) return known;
  if (answered.size >= MOST_ANSWERED) answered.clear();
  const answer = isSignedBy(publicPem, text, signature);
  answered.set(asked, answer);
  return answer;
}

function isSignedBy(publicPem: string, text: string, signature: string): boolean {
  try {
    const { key } = readPublicKey(publicPem);
    if (key.asymmetricKeyType !== 'ed25519') return false;
    return verify(null, Buffer.from(text, 'utf8'), key, Buffer.from(signature, 'base64'));
  } catch {
    return false;
  }
}
