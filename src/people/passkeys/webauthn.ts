import { createHash, timingSafeEqual } from 'node:crypto';
import { decodePartialCBOR } from '@levischuck/tiny-cbor';
import { z } from 'zod';
import { hasSigned, keyFromCose, type PasskeyKey } from './cose-key.js';
import { PasskeyError } from './passkey-fault.js';

/**
 * What authenticators give, read and checked by Web Authentication level 2 (W3C, 2021), sections 6.1, 7.1 and 7.2. Where
 * an authenticator came from (attestation) is neither asked for nor read: docs/decisions/passkeys.md.
 */

/** Base64url of bytes; an identifier has at most 1023 of them (section 6.5.1), and everything else less than this. */
const Bytes = z
  .string()
  .max(24_000)
  .regex(/^[A-Za-z0-9_-]*$/);

/** What a browser gives when a passkey is made, as our script sends it: JSON with bytes in base64url. */
export const Registration = z.strictObject({ id: Bytes, clientDataJSON: Bytes, attestationObject: Bytes });
export type Registration = z.infer<typeof Registration>;

/** What it gives when one is used. */
export const Assertion = z.strictObject({
  id: Bytes,
  clientDataJSON: Bytes,
  authenticatorData: Bytes,
  signature: Bytes,
  userHandle: Bytes.nullable(),
});
export type Assertion = z.infer<typeof Assertion>;

/** What was asked for. */
export interface Asked {
  readonly challenge: Buffer;
  /** `https://lots.example:8443`. */
  readonly origin: string;
  /** The host of it, for which passkeys are made. */
  readonly host: string;
  /** Identifier of the account, as authenticators keep it. */
  readonly account: Buffer;
}

/** What stands behind a passkey. */
export interface NewPasskey extends PasskeyKey {
  /** Identifier that the authenticator gave it, base64url. */
  readonly credential: string;
  readonly counter: number;
}

/**
 * Reads what a browser gave when a passkey was made, and checks all that it says.
 * @throws PasskeyError saying which part does not hold.
 */
export function readRegistration(given: Registration, asked: Asked): NewPasskey {
  checkClientData(given.clientDataJSON, 'webauthn.create', asked);
  const bytes = bytesOf(given.attestationObject);
  const [attestation, read] = mapAt(bytes, 0, 'attestation object');
  const data = attestation.get('authData');
  if (!(data instanceof Uint8Array) || read !== bytes.length) throw notReadable('attestation object');
  const { counter, made } = readAuthenticatorData(Buffer.from(data), asked);
  if (made === undefined) throw notReadable('no key in it');
  const { credential, cose } = made;
  // The name under which the browser gives it says nothing: the authenticator does.
  if (credential !== given.id || credential.length === 0) throw notReadable('another identifier');
  return { credential, counter, ...keyFromCose(cose) };
}

/**
 * Checks what a browser gave when a passkey was used.
 * @returns the counter of the authenticator, which whoever keeps it compares.
 * @throws PasskeyError saying which part does not hold.
 */
export function checkAssertion(given: Assertion, key: PasskeyKey, asked: Asked): { readonly counter: number } {
  if (given.userHandle !== null && !isSame(bytesOf(given.userHandle), asked.account)) {
    throw new PasskeyError({ code: 'another person' });
  }
  checkClientData(given.clientDataJSON, 'webauthn.get', asked);
  const data = bytesOf(given.authenticatorData);
  const { counter } = readAuthenticatorData(data, asked);
  const signed = Buffer.concat([data, sha256(bytesOf(given.clientDataJSON))]);
  if (!hasSigned(key, signed, bytesOf(given.signature))) throw new PasskeyError({ code: 'another signature' });
  return { counter };
}

/** What the browser says of the ceremony. Further fields may come (section 5.8.1.2). */
const ClientData = z.looseObject({
  type: z.string(),
  challenge: z.string(),
  origin: z.string(),
  crossOrigin: z.boolean().optional(),
  topOrigin: z.string().optional(),
});

function checkClientData(text: string, type: string, { challenge, origin }: Asked): void {
  let data: z.infer<typeof ClientData>;
  try {
    data = ClientData.parse(JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(bytesOf(text))));
  } catch {
    throw notReadable('client data');
  }
  if (data.type !== type) throw new PasskeyError({ code: 'another type' });
  if (!isSame(Buffer.from(data.challenge, 'base64url'), challenge))
    throw new PasskeyError({ code: 'another challenge' });
  const found = data.crossOrigin ? (data.topOrigin ?? 'a page of another site') : data.origin;
  if (found !== origin || data.topOrigin !== undefined) {
    throw new PasskeyError({ code: 'another origin', facts: { found, expected: origin } });
  }
}

const FLAGS = { present: 0x01, verified: 0x04, key: 0x40, extensions: 0x80 };
/** SHA-256 of the host, flags, counter. */
const HEAD_BYTES = 37;
const AAGUID_BYTES = 16;

function readAuthenticatorData(data: Buffer, { host }: Asked) {
  if (data.length < HEAD_BYTES) throw notReadable('authenticator data');
  if (!isSame(data.subarray(0, 32), sha256(Buffer.from(host, 'utf8')))) {
    throw new PasskeyError({ code: 'another service' });
  }
  const flags = data[32]!;
  if (!(flags & FLAGS.present)) throw new PasskeyError({ code: 'nobody present' });
  if (!(flags & FLAGS.verified)) throw new PasskeyError({ code: 'not verified' });
  let place = HEAD_BYTES;
  let made: { readonly credential: string; readonly cose: ReadonlyMap<unknown, unknown> } | undefined;
  if (flags & FLAGS.key) {
    place += AAGUID_BYTES;
    if (data.length < place + 2) throw notReadable('authenticator data');
    const length = data.readUInt16BE(place);
    place += 2;
    const id = data.subarray(place, place + length);
    place += length;
    const [cose, read] = mapAt(data, place, 'key');
    place += read;
    made = { credential: id.toString('base64url'), cose };
  }
  if (flags & FLAGS.extensions) place += mapAt(data, place, 'extensions')[1];
  if (place !== data.length) throw notReadable('authenticator data');
  return { counter: data.readUInt32BE(33), made };
}

/** A map of CBOR (RFC 8949) that begins at a place, and how many bytes it takes there. */
function mapAt(data: Buffer, place: number, what: string): [ReadonlyMap<unknown, unknown>, number] {
  try {
    // A copy: the reader looks into the memory behind a view.
    const [value, read] = decodePartialCBOR(new Uint8Array(data.subarray(place)), 0);
    // It counts what a text or bytes announce, and gives as much of it as there is.
    if (!(value instanceof Map) || read > data.length - place) throw notReadable(what);
    return [value, read];
  } catch {
    throw notReadable(what);
  }
}

const notReadable = (what: string) => new PasskeyError({ code: 'not readable', facts: { what } });

const bytesOf = (text: string): Buffer => Buffer.from(text, 'base64url');

const sha256 = (bytes: Buffer): Buffer => createHash('sha256').update(bytes).digest();

const isSame = (one: Buffer, other: Buffer): boolean => one.length === other.length && timingSafeEqual(one, other);
