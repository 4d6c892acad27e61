import { createHash, createPublicKey, type KeyObject, randomBytes, sign } from 'node:crypto';
import { bits, context, integer, nothing, objectId, octets, sequence, setOf, time, utf8, yes } from '../../base/der.js';

/** A record is kept for fifteen years or longer; the certificate outlives those that were sealed early. */
const VALID_YEARS = 25;

/** Signature algorithms of X.509 and CMS, each with SHA-256 (RFC 5754 and RFC 5758). */
export function signatureAlgorithm(keyType: 'ec' | 'rsa'): Buffer {
  return keyType === 'ec'
    ? sequence(objectId('1.2.840.10045.4.3.2'))
    : sequence(objectId('1.2.840.113549.1.1.11'), nothing());
}

/**
 * A self-signed X.509 certificate (RFC 5280) for a P-256 key, in DER. It may sign and be held to what it signed, and
 * may not vouch for other certificates. Its name carries eight digits of the key, so that two seals can be told apart.
 */
export function selfSignedCertificate(key: KeyObject, owner: string, from: Date): Buffer {
  const publicKey = createPublicKey(key).export({ type: 'spki', format: 'der' });
  const keyDigest = createHash('sha256').update(publicKey).digest();
  const name = commonName(`${owner} ${keyDigest.subarray(0, 4).toString('hex')}`);
  const until = new Date(from);
  until.setUTCFullYear(until.getUTCFullYear() + VALID_YEARS);
  const toSign = sequence(
    context(0, integer(Buffer.of(2))),
    integer(randomBytes(16)),
    signatureAlgorithm('ec'),
    name,
    sequence(time(from), time(until)),
    name,
    publicKey,
    context(3, sequence(...extensions(keyDigest.subarray(0, 20)))),
  );
  return sequence(toSign, signatureAlgorithm('ec'), bits(sign('sha256', toSign, key)));
}

function commonName(text: string): Buffer {
  return sequence(setOf(sequence(objectId('2.5.4.3'), utf8(text))));
}

function extensions(keyId: Buffer): Buffer[] {
  const critical = (id: string, value: Buffer) => sequence(objectId(id), yes(), octets(value));
  return [
    // Basic constraints: an empty sequence says that it is no authority.
    critical('2.5.29.19', sequence()),
    // Key usage: digitalSignature (bit 0) and contentCommitment (bit 1).
    critical('2.5.29.15', bits(Buffer.of(0b1100_0000), 6)),
    // Subject key identifier, by method (1) of RFC 7093.
    sequence(objectId('2.5.29.14'), octets(octets(keyId))),
  ];
}
