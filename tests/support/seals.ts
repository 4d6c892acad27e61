import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { temporaryFolder } from './cell.js';

/** Kinds of seals that a user may bring: of one key, or `issued` by an authority of its own. */
export type UserSeal = `rsa:${number}` | `ec:${string}` | 'ed25519' | 'issued';

const DAYS = ['-days', '20000'];

/** A folder with a seal that OpenSSL made, as a user would put it there. */
export function userSeal(kind: UserSeal): string {
  const folder = temporaryFolder('user-seal');
  const keys = path.join(folder, 'keys');
  fs.mkdirSync(keys);
  const pem = kind === 'issued' ? issuedPem(keys) : selfSignedPem(keys, kind, 'Example works');
  fs.writeFileSync(path.join(keys, 'seal.pem'), pem, { mode: 0o600 });
  return folder;
}

/** Valid from before the clocks of tests: the day on which a test runs is not looked at. */
function selfSignedPem(folder: string, kind: string, name: string): string {
  const key = path.join(folder, 'key');
  const certificate = path.join(folder, 'certificate');
  openssl('req', '-x509', ...newKey(kind, key), '-out', certificate, '-subj', `/CN=${name}`, ...DAYS);
  return taken(key) + taken(certificate);
}

function issuedPem(folder: string): string {
  const of = (name: string) => path.join(folder, name);
  const authority = '/O=Example works/CN=Works authority';
  openssl('req', '-x509', ...newKey('rsa:2048', of('root-key')), '-out', of('root'), '-subj', authority, ...DAYS);
  const request = ['-out', of('request'), '-subj', '/O=Example works/CN=Record office'];
  openssl('req', ...newKey('ec:prime256v1', of('key')), ...request);
  const issuer = ['-CA', of('root'), '-CAkey', of('root-key'), '-CAcreateserial', ...DAYS];
  openssl('x509', '-req', '-in', of('request'), ...issuer, '-out', of('certificate'));
  return taken(of('key')) + taken(of('certificate')) + taken(of('root'));
}

function newKey(kind: string, file: string): string[] {
  const curve = /^ec:(.*)/.exec(kind)?.[1];
  const options = curve === undefined ? [] : ['-pkeyopt', `ec_paramgen_curve:${curve}`];
  return ['-newkey', curve === undefined ? kind : 'ec', ...options, '-nodes', '-keyout', file];
}

function openssl(...args: string[]): void {
  execFileSync('openssl', args, { stdio: ['ignore', 'ignore', 'pipe'] });
}

function taken(file: string): string {
  const text = fs.readFileSync(file, 'utf8');
  fs.rmSync(file);
  return text;
}

/** The bytes that the (one) seal of a file covers, and its signature without the zeros behind it. */
export function sealParts(pdf: Buffer): { covered: Buffer; cms: Buffer; from: number; to: number } {
  const range = /\/ByteRange \[0 (\d+) (\d+) (\d+)\]/.exec(pdf.toString('latin1'))!;
  const [from, to, rest] = [Number(range[1]), Number(range[2]), Number(range[3])];
  const padded = Buffer.from(pdf.toString('latin1', from + 1, to - 1), 'hex');
  // DER: tag, then a length in two bytes.
  const cms = padded.subarray(0, 4 + padded.readUInt16BE(2));
  return { covered: Buffer.concat([pdf.subarray(0, from), pdf.subarray(to, to + rest)]), cms, from, to };
}
