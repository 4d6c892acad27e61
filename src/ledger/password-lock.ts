import { z } from 'zod';

const Base64 = z.base64();

/** How a password is tried: argon2id (RFC 9106) gives 64 bytes, of which one half is compared and the other opens the key. */
export const PasswordLock = z.strictObject({
  derivation: z.literal('argon2id'),
  memoryKib: z.int().min(8).max(1_048_576),
  passes: z.int().min(1).max(100),
  lanes: z.literal(1),
  salt: Base64,
  check: z
    .string()
    .regex(/^[0-9a-f]{64}$/)
    .describe('SHA-256 of the first 32 bytes'),
});
export type PasswordLock = z.infer<typeof PasswordLock>;

/** The private half of the key of a person, readable with the last 32 bytes of their password alone. */
export const WrappedKey = z.strictObject({
  cipher: z.literal('aes-256-gcm'),
  fingerprint: z
    .string()
    .regex(/^[0-9a-f]{64}$/)
    .describe('of the public half, bound together with the person'),
  iv: Base64,
  tag: Base64,
  seed: Base64.describe('32 bytes of RFC 8032, encrypted'),
});
export type WrappedKey = z.infer<typeof WrappedKey>;
