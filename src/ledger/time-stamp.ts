import { createHash, verify, X509Certificate } from 'node:crypto';
import { DerValue, integer, nothing, objectId, octets, sequence, yes } from '../base/der.js';
import { AppError } from '../base/errors.js';

/** Object identifiers of RFC 3161, RFC 5652 and RFC 5035. */
const ID = {
  signedData: '1.2.840.113549.1.7.2',
  timeStampInfo: '1.2.840.113549.1.9.16.1.4',
  contentType: '1.2.840.113549.1.9.3',
  messageDigest: '1.2.840.113549.1.9.4',
  signingCertificate: '1.2.840.113549.1.9.16.2.12',
  signingCertificateV2: '1.2.840.113549.1.9.16.2.47',
  timeStamping: '1.3.6.1.5.5.7.3.8',
  sha256: '2.16.840.1.101.3.4.2.1',
} as const;

const HASHES = {
  [ID.sha256]: 'sha256',
  '2.16.840.1.101.3.4.2.2': 'sha384',
  '2.16.840.1.101.3.4.2.3': 'sha512',
} as const;

/** Longest chain from the certificate of an authority to one that is trusted. */
const LONGEST_CHAIN = 6;

/** What an authority attests: that these bytes were there at this time. */
export interface TimeStamp {
  /** UTC, ISO. */
  readonly at: string;
  /** Name in the certificate that signed it. */
  readonly authority: string;
  readonly certificateSha256: string;
}

/** SHA-256 of what is stamped. */
export const stampedDigest = (text: string): Buffer => createHash('sha256').update(text, 'utf8').digest();

const imprint = (digest: Buffer): Buffer => sequence(sequence(objectId(ID.sha256), nothing()), octets(digest));

/** A request for a time stamp, with the certificate of the authority in the answer (RFC 3161, 2.4.1). */
export const timeStampRequest = (digest: Buffer, nonce: Buffer): Buffer =>
  sequence(integer(Buffer.of(1)), imprint(digest), integer(nonce), yes());

/**
 * The token in the answer of an authority (RFC 3161, 2.4.2).
 * @throws AppError REFUSED when it grants none, BAD_INPUT when it is no answer.
 */
export function tokenIn(answer: Buffer): Buffer {
  return understood(noAnswer, () => {
    const [status, token] = DerValue.of(answer).items;
    const code = status!.item(0).content.readIntBE(0, status!.item(0).content.length);
    if (code !== 0 && code !== 1) throw new AppError('REFUSED', `the authority grants no time stamp (status ${code})`);
    return Buffer.from(token!.whole);
  });
}

/**
 * Reads a time stamp of a text and checks it: what is stamped, what is signed, by a certificate that is for time stamps.
 * @param trusted certificates to one of which that of the authority leads; undefined where nobody says whom to trust.
 * @param nonce that of the request, where it is known.
 * @throws AppError ALTERED when the stamp is of something else, or does not hold; BAD_INPUT when it is none.
 */
export function readTimeStamp(
  token: Buffer,
  text: string,
  { trusted, nonce }: { readonly trusted?: readonly X509Certificate[] | undefined; readonly nonce?: Buffer } = {},
): TimeStamp {
  return understood(noStamp, () => {
    const [type, wrapped] = DerValue.of(token).items;
    if (!type!.is(ID.signedData)) throw doesNotHold('it is not signed');
    const parts = wrapped!.item(0).items;
    const [contentType, content] = parts[2]!.items;
    if (!contentType!.is(ID.timeStampInfo)) throw doesNotHold('it signs something else');
    const info = content!.item(0).content;
    const carried = parts.find(({ tag }) => tag === 0xa0)?.items ?? [];
    const certificates = carried.map(({ whole }) => new X509Certificate(whole));
    const signer = signerOf(parts.at(-1)!.item(0), info, certificates);
    const at = checkInfo(DerValue.of(info), text, nonce);
    if (!signer.keyUsage?.includes(ID.timeStamping)) throw doesNotHold('its certificate is not for time stamps');
    if (Date.parse(at) < Date.parse(signer.validFrom) || Date.parse(at) > Date.parse(signer.validTo)) {
      throw doesNotHold('its certificate was not valid then');
    }
    if (trusted !== undefined && !leadsTo(signer, certificates, trusted)) {
      throw doesNotHold('its certificate leads to none of those that are trusted');
    }
    const authority = /^CN=(.*)$/m.exec(signer.subject)?.[1] ?? signer.subject.replaceAll('\n', ', ');
    return { at, authority, certificateSha256: signer.fingerprint256.replaceAll(':', '').toLowerCase() };
  });
}

/** TSTInfo: version, policy, imprint, serial number, time, and then what may be left out. @returns the time. */
function checkInfo({ items }: DerValue, text: string, nonce: Buffer | undefined): string {
  const [, , stamped, , time, ...rest] = items;
  const [algorithm, digest] = stamped!.items;
  if (!algorithm!.item(0).is(ID.sha256) || !digest!.content.equals(stampedDigest(text))) {
    throw doesNotHold('it is of something else');
  }
  // Of all that may follow the nonce alone is a whole number by itself.
  const answered = rest.find(({ tag }) => tag === 0x02)?.whole;
  if (nonce !== undefined && answered?.equals(integer(nonce)) !== true) throw doesNotHold('it answers another request');
  const [, year, month, day, hour, minute, second] =
    /^(\d{4})(\d\d)(\d\d)(\d\d)(\d\d)(\d\d(?:\.\d+)?)Z$/.exec(time!.content.toString('latin1')) ?? [];
  if (second === undefined) throw doesNotHold('its time cannot be read');
  return new Date(`${year}-${month}-${day}T${hour}:${minute}:${second}Z`).toISOString();
}

/** The certificate whose key signed, after RFC 5652, 5.4: the signed attributes, which name what is signed and by whom. */
function signerOf(signer: DerValue, info: Buffer, certificates: readonly X509Certificate[]): X509Certificate {
  const [, , digestAlgorithm, attributes, , signature] = signer.items;
  if (attributes!.tag !== 0xa0) throw doesNotHold('it names nothing that it signs');
  const named = Object.entries(HASHES).find(([dotted]) => digestAlgorithm!.item(0).is(dotted));
  if (named === undefined) throw doesNotHold('it uses a hash that this program does not know');
  const [, hash] = named;
  const attribute = (dotted: string) =>
    attributes!.items
      .find((item) => item.item(0).is(dotted))
      ?.item(1)
      .item(0);
  const digest = attribute(ID.messageDigest)?.content;
  if (!attribute(ID.contentType)?.is(ID.timeStampInfo) || !digest?.equals(createHash(hash).update(info).digest())) {
    throw doesNotHold('what it says is not what was signed');
  }
  const own = certificates.find((certificate) => isNamed(certificate, attribute));
  if (own === undefined) throw doesNotHold('it does not carry the certificate that it names');
  const signed = Buffer.from(attributes!.whole);
  // Signed as a set, carried under a tag that takes its place.
  signed[0] = 0x31;
  if (!verify(hash, signed, own.publicKey, signature!.content))
    throw doesNotHold('its signature does not belong to it');
  return own;
}

function isNamed({ raw }: X509Certificate, attribute: (dotted: string) => DerValue | undefined): boolean {
  const later = attribute(ID.signingCertificateV2)?.item(0).item(0).items;
  if (later !== undefined) {
    const [first, second] = later;
    const named =
      first!.tag === 0x30 ? Object.entries(HASHES).find(([dotted]) => first!.item(0).is(dotted)) : undefined;
    const digest = first!.tag === 0x30 ? second! : first!;
    return createHash(named?.[1] ?? 'sha256')
      .update(raw)
      .digest()
      .equals(digest.content);
  }
  const earlier = attribute(ID.signingCertificate)?.item(0).item(0).item(0).content;
  return earlier !== undefined && createHash('sha1').update(raw).digest().equals(earlier);
}

function leadsTo(
  signer: X509Certificate,
  carried: readonly X509Certificate[],
  trusted: readonly X509Certificate[],
): boolean {
  const isTrusted = ({ fingerprint256 }: X509Certificate) =>
    trusted.some((one) => one.fingerprint256 === fingerprint256);
  let current = signer;
  for (let length = 0; length < LONGEST_CHAIN; length += 1) {
    if (isTrusted(current)) return true;
    const issuer = [...trusted, ...carried].find(
      (one) => one.ca && current.checkIssued(one) && current.verify(one.publicKey) && one !== current,
    );
    if (issuer === undefined) return false;
    current = issuer;
  }
  return false;
}

const doesNotHold = (why: string): AppError => new AppError('ALTERED', `the time stamp does not hold: ${why}`);

const noAnswer = (why: string): AppError =>
  new AppError('BAD_INPUT', `this is no answer of a time stamp authority: ${why}`);
const noStamp = (why: string): AppError => new AppError('BAD_INPUT', `this is no time stamp: ${why}`);

/** What cannot be read at all is no stamp; what it says against itself is told as it is. */
function understood<T>(isNone: (why: string) => AppError, read: () => T): T {
  try {
    return read();
  } catch (error) {
    throw error instanceof AppError ? error : isNone((error as Error).message);
  }
}
