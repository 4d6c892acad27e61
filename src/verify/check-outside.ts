import { X509Certificate } from 'node:crypto';
import fs from 'node:fs';
import { AppError, BadInputError } from '../base/errors.js';
import { type Anchor, parseAnchor } from '../ledger/anchor.js';
import { checkpointText, originOf, parseCheckpoint } from '../ledger/checkpoint.js';
import { chainOf } from '../ledger/key-chain.js';
import { verifyConsistency } from '../ledger/proofs.js';
import { readTimeStamp } from '../ledger/time-stamp.js';
import type { Enclosure } from '../records/enclosure.js';
import { chainIn } from './check-statements.js';
import type { Steps } from './report.js';

/**
 * Checks the head that a witness keeps, where the record carries one: that the audit trail of the record only grew since,
 * and what an authority stamped.
 * @param certificates file with those to which the authority leads; undefined where the reader trusts none.
 * @throws BadInputError when that file cannot be used.
 */
export function checkWitness(
  enclosure: Pick<Enclosure, 'ledger' | 'keys'>,
  certificates: string | undefined,
  steps: Steps,
): void {
  const trusted = certificates === undefined ? undefined : readCertificates(certificates);
  const { size, root, witnessed } = enclosure.ledger;
  if (witnessed === undefined) {
    if (trusted !== undefined) steps.skip('witness', { code: 'no witness' });
    return;
  }
  const { by, at, size: oldSize, root: oldRoot, consistency: proof, token } = witnessed;
  if (oldSize > size || !verifyConsistency({ oldSize, size, oldRoot, root, proof })) {
    steps.broken('witness', { code: 'not grown from the witnessed head', facts: { by, size: oldSize } });
    return;
  }
  if (token === null) {
    steps.holds('witness', { code: 'left with a witness', facts: { by, at, size: oldSize } });
    return;
  }
  try {
    const origin = originIn(enclosure);
    const text = checkpointText({ origin, size: oldSize, root: oldRoot });
    const stamp = readTimeStamp(Buffer.from(token, 'base64'), text, { trusted });
    const facts = { by: stamp.authority, at: stamp.at, size: oldSize, certificate: stamp.certificateSha256 };
    steps.holds('witness', { code: 'stamped', facts: { ...facts, isTrusted: trusted !== undefined } });
  } catch (error) {
    if (!(error instanceof AppError)) throw error;
    steps.broken('witness', { code: 'stamp does not hold', facts: { message: error.message } });
  }
}

const originIn = ({ ledger, keys }: Pick<Enclosure, 'ledger' | 'keys'>): string =>
  ledger.checkpoint === null
    ? originOf(keys.at(-1)!.fingerprint)
    : parseCheckpoint(`${ledger.checkpoint.split('\n\n')[0]}\n`).origin;

/**
 * Compares the record with what its issuer keeps outside the database: the first key, keys that two people named after a
 * loss, and the head, as far as the record tells of an audit trail of that size.
 * @throws BadInputError when the file is no anchor.
 */
export function checkAnchor(
  enclosure: Pick<Enclosure, 'ledger' | 'keys' | 'earlier'>,
  file: string | undefined,
  steps: Steps,
): void {
  if (file === undefined) return;
  const anchor = readAnchor(file);
  const [broken] = chainOf(chainIn(enclosure).keys, anchor).faults;
  if (broken !== undefined || enclosure.keys.length === 0) {
    const fingerprint = broken?.fingerprint ?? null;
    steps.broken('anchor', { code: 'another chain of keys', facts: { fingerprint, fault: broken?.fault ?? null } });
    return;
  }
  if (anchor.head === null) {
    steps.holds('anchor', { code: 'first key of the anchor' });
    return;
  }
  const { size, root } = parseCheckpoint(anchor.head.text);
  const { ledger, earlier } = enclosure;
  const known = [ledger, ...earlier, ...(ledger.witnessed ? [ledger.witnessed] : [])].find((one) => one.size === size);
  if (known !== undefined && known.root !== root) {
    steps.broken('anchor', { code: 'another head in the anchor', facts: { size } });
  } else if (known !== undefined) steps.holds('anchor', { code: 'head of the anchor', facts: { size } });
  else steps.holds('anchor', { code: 'head not comparable', facts: { size, ofRecord: ledger.size } });
}

function readAnchor(file: string): Anchor {
  try {
    return parseAnchor(fs.readFileSync(file, 'utf8'));
  } catch (error) {
    throw unusable(
      '--anchor',
      `${file} (${(error as Error).message})`,
      'keys/anchor.txt of the installation, or a copy',
    );
  }
}

function readCertificates(file: string): X509Certificate[] {
  try {
    const pem = fs.readFileSync(file, 'utf8');
    const found = pem.match(/-----BEGIN CERTIFICATE-----[^-]+-----END CERTIFICATE-----/g) ?? [];
    if (found.length > 0) return found.map((one) => new X509Certificate(one));
  } catch {}
  throw unusable('--authority', file, 'certificates in PEM of the authority for time stamps');
}

const unusable = (field: string, found: string, expected: string): BadInputError =>
  new BadInputError([
    { code: 'verify-file', field, found, expected, remedy: 'name the file that you got from whom you trust' },
  ]);
