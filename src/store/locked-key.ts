import { createCipheriv, createDecipheriv, randomBytes, scryptSync } from 'node:crypto';
import { z } from 'zod';

/** 128 MB and some 0.3 s for each guess (RFC 7914). */
const COST = { N: 2 ** 17, r: 8, p: 1 };
const CIPHER = 'aes-256-gcm';
const TITLE = 'LOTWRIGHT-LOCKED-KEY';
const PEM = new RegExp(`^-----BEGIN ${TITLE}-----\n([A-Za-z0-9+/=\n]+)\n-----END ${TITLE}-----\n$`);

const Base64 = z.base64().transform((text) => Buffer.from(text, 'base64'));
const Locked = z.strictObject({
  format: z.literal(1),
  kdf: z.literal('scrypt'),
  N: z.literal(COST.N),
  r: z.literal(COST.r),
  p: z.literal(COST.p),
  cipher: z.literal(CIPHER),
  salt: Base64,
  iv: Base64,
  tag: Base64,
  key: Base64,
});

export const isLocked = (text: string): boolean => PEM.test(text);

/** A private key in PEM, readable by whoever knows the passphrase alone: scrypt, then AES-256-GCM. */
export function lockKey(pem: string, passphrase: string): string {
  const [salt, iv] = [randomBytes(16), randomBytes(12)];
  const cipher = createCipheriv(CIPHER, keyFrom(passphrase, salt), iv);
  const key = Buffer.concat([cipher.update(pem, 'utf8'), cipher.final()]);
  const bytes = { salt, iv, tag: cipher.getAuthTag(), key };
  const texts = Object.fromEntries(Object.entries(bytes).map(([name, value]) => [name, value.toString('base64')]));
  const locked = { format: 1, kdf: 'scrypt', ...COST, cipher: CIPHER, ...texts };
  const lines = Buffer.from(JSON.stringify(locked))
    .toString('base64')
    .replace(/.{64}(?=.)/g, '$&\n');
  return `-----BEGIN ${TITLE}-----\n${lines}\n-----END ${TITLE}-----\n`;
}

/** @returns the PEM, or undefined when the passphrase is another one or the text was altered. */
export function unlockKey(text: string, passphrase: string): string | undefined {
  try {
    const json = Buffer.from(PEM.exec(text)![1]!, 'base64').toString('utf8');
    const { salt, iv, tag, key } = Locked.parse(JSON.parse(json));
    const decipher = createDecipheriv(CIPHER, keyFrom(passphrase, salt), iv, { authTagLength: 16 });
    decipher.setAuthTag(tag);
    return Buffer.concat([decipher.update(key), decipher.final()]).toString('utf8');
  } catch {
    return undefined;
  }
}

/** Equal passphrases in other Unicode forms are one. */
const keyFrom = (passphrase: string, salt: Buffer): Buffer =>
  scryptSync(passphrase.normalize('NFC'), salt, 32, { ...COST, maxmem: 2 * 128 * COST.N * COST.r });
