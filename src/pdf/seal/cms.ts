import { createHash, sign, X509Certificate } from 'node:crypto';
import { fromBER, type Sequence } from 'asn1js';
import { context, inOrderOfBytes, integer, objectId, octets, sequence, setOf } from '../../base/der.js';
import { signatureAlgorithm } from './certificate.js';
import type { Seal } from './seal.js';

const ID = {
  data: '1.2.840.113549.1.7.1',
  signedData: '1.2.840.113549.1.7.2',
  contentType: '1.2.840.113549.1.9.3',
  messageDigest: '1.2.840.113549.1.9.4',
  signingCertificateV2: '1.2.840.113549.1.9.16.2.47',
  sha256: '2.16.840.1.101.3.4.2.1',
} as const;

/**
 * A detached signature over bytes with this SHA-256: CMS SignedData (RFC 5652) as PAdES baseline B-B wants it (ETSI EN
 * 319 142-1): signing-certificate-v2 (RFC 5035) signed, no signing time, which the PDF gives. The value of an ECDSA
 * signature differs each time.
 */
export function detachedSignature(digest: Buffer, seal: Seal): Buffer {
  const attributes = setOf(...signedAttributes(digest, seal.certificates[0]!));
  return encodeCms({ ...seal, digest, signature: sign('sha256', attributes, seal.key) });
}

/** What determines every byte of a detached signature. */
export interface CmsContent {
  /** In DER, the signer's first. */
  readonly certificates: readonly Buffer[];
  readonly keyType: 'ec' | 'rsa';
  readonly digest: Buffer;
  readonly signature: Buffer;
}

/** The one way in which this program writes a signature. `verify` writes it again, so that no byte of it is loose. */
export function encodeCms({ certificates, keyType, digest, signature }: CmsContent): Buffer {
  const [own] = certificates;
  const digestAlgorithm = sequence(objectId(ID.sha256));
  const signer = sequence(
    integer(Buffer.of(1)),
    issuerAndSerial(own!),
    digestAlgorithm,
    implicitSet(0, signedAttributes(digest, own!)),
    signatureAlgorithm(keyType),
    octets(signature),
  );
  const signedData = sequence(
    integer(Buffer.of(1)),
    setOf(digestAlgorithm),
    sequence(objectId(ID.data)),
    implicitSet(0, certificates),
    setOf(signer),
  );
  return sequence(objectId(ID.signedData), context(0, signedData));
}

function signedAttributes(digest: Buffer, certificate: Buffer): Buffer[] {
  const attribute = (id: string, value: Buffer) => sequence(objectId(id), setOf(value));
  const certificateHash = createHash('sha256').update(certificate).digest();
  return [
    attribute(ID.contentType, objectId(ID.data)),
    attribute(ID.messageDigest, octets(digest)),
    // SHA-256 is the default of the attribute and is left out.
    attribute(ID.signingCertificateV2, sequence(sequence(sequence(octets(certificateHash))))),
  ];
}

/** Members of a SET OF in their order, under a tag that takes the place of the set's own. */
function implicitSet(number: number, items: readonly Buffer[]): Buffer {
  return context(number, ...inOrderOfBytes(items));
}

function issuerAndSerial(certificate: Buffer): Buffer {
  const serial = Buffer.from(new X509Certificate(certificate).serialNumber, 'hex');
  return sequence(issuerOf(certificate), integer(serial));
}

/** The issuer's name as the certificate writes it: field 4 of its first part, after version, number and algorithm. */
function issuerOf(certificate: Buffer): Buffer {
  const whole = fromBER(certificate).result as Sequence;
  const fields = (whole.valueBlock.value[0] as Sequence).valueBlock.value;
  const hasVersion = fields[0]!.idBlock.tagClass === 3;
  return Buffer.from(fields[hasVersion ? 3 : 2]!.valueBeforeDecodeView);
}
