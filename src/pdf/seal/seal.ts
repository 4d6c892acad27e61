import { createHash, createPrivateKey, generateKeyPairSync, type KeyObject, X509Certificate } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import type { Clock } from '../../base/clock.js';
import { AppError } from '../../base/errors.js';
import { refuseSharedKey, writeKeyOnce } from '../../base/key-file.js';
import { selfSignedCertificate } from './certificate.js';

const CURVES = new Set(['prime256v1', 'secp384r1', 'secp521r1']);
const SHORTEST_RSA = 2048;

/** What a record is sealed with: a key and its certificate. It speaks for the installation's files, for no person. */
export interface Seal {
  readonly key: KeyObject;
  readonly keyType: 'ec' | 'rsa';
  /** In DER: the certificate of the key, then those that vouch for it. */
  readonly certificates: readonly Buffer[];
  /** SHA-256 of the certificate in DER, as `openssl x509 -fingerprint -sha256` shows it without colons. */
  readonly certificateSha256: string;
  readonly certificatePem: string;
  /** Whom the certificate names. */
  readonly subject: string;
}

/**
 * The seal of a data folder: `keys/seal.pem`, made at first use for this owner. A user who has a certificate puts private key,
 * certificate and the certificates of its issuers there instead, in PEM, in this order, in one file of mode 0600.
 * @throws AppError CONFLICT when the file is no such thing, belongs to another key, is not valid now, or others may
 *   read it.
 */
export function loadOrMakeSeal(folder: string, clock: Clock, owner: string): Seal {
  const file = path.join(folder, 'keys', 'seal.pem');
  if (!fs.existsSync(file)) writeNewSeal(file, clock, owner);
  refuseSharedKey(file);
  const wrong = (what: string) => new AppError('CONFLICT', `${file} ${what}`);
  return sealFromPem(fs.readFileSync(file, 'utf8'), clock.now(), wrong);
}

type Wrong = (what: string) => AppError;

function sealFromPem(pem: string, now: Date, wrong: Wrong): Seal {
  const key = readKey(pem, wrong);
  const certificates = readCertificates(pem, wrong);
  const [own] = certificates;
  if (!own) throw wrong('holds no certificate; add the certificate of the key after it, in PEM');
  if (!own.checkPrivateKey(key)) throw wrong('holds a key and, first, the certificate of another key; order them');
  certificates.slice(1).forEach((issuer, index) => {
    if (!certificates[index]!.checkIssued(issuer) || !certificates[index]!.verify(issuer.publicKey)) {
      throw wrong(`does not name the issuer of "${nameOf(certificates[index]!)}" next; order the certificates upwards`);
    }
  });
  if (now < new Date(own.validFrom) || now > new Date(own.validTo)) {
    throw wrong(`holds a certificate that is valid from ${own.validFrom} to ${own.validTo}; it cannot seal now`);
  }
  return {
    key,
    keyType: keyTypeOf(key, wrong),
    certificates: certificates.map((certificate) => certificate.raw),
    certificateSha256: createHash('sha256').update(own.raw).digest('hex'),
    certificatePem: own.toString(),
    subject: nameOf(own),
  };
}

function readKey(pem: string, wrong: Wrong): KeyObject {
  if (pem.includes('ENCRYPTED')) throw wrong('holds a key under a password; store it without, the mode 0600 guards it');
  try {
    return createPrivateKey(pem);
  } catch {
    throw wrong('holds no private key in PEM; put the key first, then its certificate');
  }
}

function readCertificates(pem: string, wrong: Wrong): X509Certificate[] {
  const blocks = pem.match(/-----BEGIN CERTIFICATE-----[\s\S]*?-----END CERTIFICATE-----/g) ?? [];
  return blocks.map((block, index) => {
    try {
      return new X509Certificate(block);
    } catch {
      throw wrong(`holds a certificate, number ${index + 1}, that cannot be read; export it again in PEM`);
    }
  });
}

function keyTypeOf(key: KeyObject, wrong: Wrong): 'ec' | 'rsa' {
  const { namedCurve, modulusLength } = key.asymmetricKeyDetails ?? {};
  if (key.asymmetricKeyType === 'ec' && CURVES.has(String(namedCurve))) return 'ec';
  if (key.asymmetricKeyType === 'rsa' && Number(modulusLength) >= SHORTEST_RSA) return 'rsa';
  throw wrong(`holds a key of a kind that does not seal; use P-256, P-384, P-521, or RSA from ${SHORTEST_RSA} bits`);
}

/** The common name, or the whole subject where there is none. */
export function nameOf({ subject }: X509Certificate): string {
  return /^CN=(.*)$/m.exec(subject)?.[1] ?? subject.replaceAll('\n', ', ');
}

function writeNewSeal(file: string, clock: Clock, owner: string): void {
  const { privateKey } = generateKeyPairSync('ec', { namedCurve: 'P-256' });
  const certificate = new X509Certificate(selfSignedCertificate(privateKey, owner, clock.now()));
  const pem = `${privateKey.export({ type: 'pkcs8', format: 'pem' })}${certificate}`;
  writeKeyOnce(file, pem);
}
