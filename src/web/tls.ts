import { createPrivateKey, type KeyObject, X509Certificate } from 'node:crypto';
import fs from 'node:fs';
import { isIP } from 'node:net';
import { BadInputError } from '../base/errors.js';

/** Paths of PEM files: certificate with those above it, and its private key. */
export interface TlsFiles {
  readonly cert: string;
  readonly key: string;
}

export interface Tls {
  readonly cert: string;
  readonly key: string;
  /** Whether the certificate speaks for a name or address, as browsers compare it. */
  speaksFor(name: string): boolean;
}

/**
 * Reads what HTTPS needs, and checks it before anybody is served.
 * @throws BadInputError when a file cannot be read, the key does not belong to the certificate or others can read it, or
 * the certificate is out of its time.
 */
export function readTls(files: TlsFiles, now: Date = new Date()): Tls {
  const cert = readText(files.cert, '--tls-cert', 'a certificate in PEM');
  const key = readText(files.key, '--tls-key', 'a private key in PEM');
  const certificate = parsed(() => new X509Certificate(cert), '--tls-cert', files.cert, 'a certificate in PEM');
  const privateKey = parsed((): KeyObject => createPrivateKey(key), '--tls-key', files.key, 'a private key in PEM');
  if ((fs.statSync(files.key).mode & 0o077) !== 0) {
    throw wrong('--tls-key', `${files.key}, which others on this machine can read`, 'a file of mode 0600');
  }
  if (!certificate.checkPrivateKey(privateKey)) {
    throw wrong('--tls-key', files.key, `the private key of the certificate in ${files.cert}`);
  }
  const [from, to] = [new Date(certificate.validFrom), new Date(certificate.validTo)];
  if (now < from || now > to) {
    throw wrong('--tls-cert', `a certificate for ${certificate.validFrom} to ${certificate.validTo}`, 'one for today');
  }
  return { cert, key, speaksFor: (name) => speaksFor(certificate, name.replace(/^\[(.*)\]$/, '$1')) };
}

const speaksFor = (certificate: X509Certificate, name: string): boolean =>
  (isIP(name) === 0 ? certificate.checkHost(name, { subject: 'never' }) : certificate.checkIP(name)) !== undefined;

function readText(file: string, field: string, expected: string): string {
  try {
    return fs.readFileSync(file, 'utf8');
  } catch (error) {
    throw wrong(field, `${file} (${(error as NodeJS.ErrnoException).code})`, expected);
  }
}

function parsed<T>(read: () => T, field: string, file: string, expected: string): T {
  try {
    return read();
  } catch {
    throw wrong(field, file, expected);
  }
}

const wrong = (field: string, found: string, expected: string): BadInputError =>
  new BadInputError([{ code: 'tls', field, found, expected, remedy: 'docs/operations.md says how to get one' }]);
