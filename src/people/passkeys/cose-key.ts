import { createPublicKey, type JsonWebKey, type KeyObject, verify } from 'node:crypto';
import { PasskeyError } from './passkey-fault.js';

/** What signs, by its number in the registry of COSE (RFC 9053, RFC 8812): those that authenticators have. */
export const ALGORITHMS = { ES256: -7, EdDSA: -8, RS256: -257 } as const;
export type PasskeyAlgorithm = keyof typeof ALGORITHMS;

/** Labels of a COSE key (RFC 9052, 7; RFC 9053, 7; RFC 8230, 4): of its type, and of the values that each type has. */
const [TYPE, ALGORITHM] = [1, 3];
const [CURVE, X, Y] = [-1, -2, -3];
const [MODULUS, EXPONENT] = [-1, -2];
const TYPES = { OKP: 1, EC2: 2, RSA: 3 };
const CURVES = { P256: 1, Ed25519: 6 };
const LEAST_RSA_BITS = 2048;

export interface PasskeyKey {
  readonly algorithm: PasskeyAlgorithm;
  readonly publicPem: string;
}

/**
 * The public key of a passkey.
 * @param cose a map as CBOR gives it, by the labels of RFC 9052.
 * @throws PasskeyError for an algorithm, curve or length that is not taken, and for a point that is not on its curve.
 */
export function keyFromCose(cose: ReadonlyMap<unknown, unknown>): PasskeyKey {
  const [algorithm] = Object.entries(ALGORITHMS).find(([, number]) => number === cose.get(ALGORITHM)) ?? [];
  const jwk = algorithm === undefined ? undefined : jwkOf(algorithm as PasskeyAlgorithm, cose);
  if (jwk === undefined) throw notTaken(`type ${cose.get(TYPE)}, algorithm ${cose.get(ALGORITHM)}`);
  let key: KeyObject;
  try {
    key = createPublicKey({ key: jwk, format: 'jwk' });
  } catch (error) {
    throw new PasskeyError({ code: 'not readable', facts: { what: `its key: ${(error as Error).message}` } });
  }
  const bits = key.asymmetricKeyDetails?.modulusLength;
  if (bits !== undefined && bits < LEAST_RSA_BITS) throw notTaken(`RSA with ${bits} bits`);
  const publicPem = key.export({ type: 'spki', format: 'pem' }).toString();
  return { algorithm: algorithm as PasskeyAlgorithm, publicPem };
}

/** The same key as JSON (RFC 7517); undefined where type, curve and algorithm do not go together. */
function jwkOf(algorithm: PasskeyAlgorithm, cose: ReadonlyMap<unknown, unknown>): JsonWebKey | undefined {
  const [type, curve] = [cose.get(TYPE), cose.get(CURVE)];
  if (algorithm === 'ES256' && type === TYPES.EC2 && curve === CURVES.P256) {
    return { kty: 'EC', crv: 'P-256', x: textOf(cose.get(X), 32), y: textOf(cose.get(Y), 32) };
  }
  if (algorithm === 'EdDSA' && type === TYPES.OKP && curve === CURVES.Ed25519) {
    return { kty: 'OKP', crv: 'Ed25519', x: textOf(cose.get(X), 32) };
  }
  if (algorithm === 'RS256' && type === TYPES.RSA) {
    return { kty: 'RSA', n: textOf(cose.get(MODULUS)), e: textOf(cose.get(EXPONENT)) };
  }
  return undefined;
}

function textOf(value: unknown, length?: number): string {
  if (!(value instanceof Uint8Array) || (length !== undefined && value.length !== length)) {
    throw new PasskeyError({ code: 'not readable', facts: { what: 'its key' } });
  }
  return Buffer.from(value).toString('base64url');
}

const notTaken = (found: string) => new PasskeyError({ code: 'another algorithm', facts: { found } });

/** Whether a passkey signed these bytes. */
export function hasSigned({ algorithm, publicPem }: PasskeyKey, bytes: Buffer, signature: Buffer): boolean {
  try {
    return verify(algorithm === 'EdDSA' ? null : 'sha256', bytes, publicPem, signature);
  } catch {
    return false;
  }
}
