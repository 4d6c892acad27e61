import { createHash, verify, X509Certificate } from 'node:crypto';
import { Constructed, fromBER, OctetString, Sequence } from 'asn1js';
import { ContentInfo, SignedData } from 'pkijs';

const MESSAGE_DIGEST = '1.2.840.113549.1.9.4';
const SIGNING_CERTIFICATE_V2 = '1.2.840.113549.1.9.16.2.47';

const DIGESTS: Readonly<Record<string, string>> = {
  '2.16.840.1.101.3.4.2.1': 'sha256',
  '2.16.840.1.101.3.4.2.2': 'sha384',
  '2.16.840.1.101.3.4.2.3': 'sha512',
};

/** Signatures that name their digest, and RSA (PKCS #1), which takes that of the signed attributes. */
const SIGNATURES: Readonly<Record<string, string | 'own'>> = {
  '1.2.840.10045.4.3.2': 'sha256',
  '1.2.840.10045.4.3.3': 'sha384',
  '1.2.840.10045.4.3.4': 'sha512',
  '1.2.840.113549.1.1.11': 'sha256',
  '1.2.840.113549.1.1.12': 'sha384',
  '1.2.840.113549.1.1.13': 'sha512',
  '1.2.840.113549.1.1.1': 'own',
};

/** What a detached signature (CMS, RFC 5652) says. Whether it holds is in `fault`. */
export interface ReadSignature {
  /** The signer's certificate, in DER, then those that came with it. */
  readonly certificates: readonly Buffer[];
  readonly signer: X509Certificate;
  readonly certificateSha256: string;
  readonly signature: Buffer;
  /** The digest of bytes by the algorithm of this signature. */
  readonly digestOf: (covered: readonly Buffer[]) => Buffer;
  /** `content`: it is of other bytes; `signature`: it does not belong to its certificate; or it cannot be judged. */
  readonly fault?: 'content' | 'signature' | 'unknown algorithm';
}

/**
 * Reads a detached signature and checks it against the bytes that it covers.
 * @param der the signature and nothing behind it.
 * @returns undefined when it is no signature of one signer whose certificate it brings.
 */
export function readSignature(der: Buffer, covered: readonly Buffer[]): ReadSignature | undefined {
  try {
    return readSignedData(der, covered);
  } catch {
    // Whatever the readers of ASN.1 stumble over: it is no signature.
    return undefined;
  }
}

function readSignedData(der: Buffer, covered: readonly Buffer[]): ReadSignature | undefined {
  const content = ContentInfo.fromBER(new Uint8Array(der)).content as Constructed;
  const [signer, ...others] = new SignedData({ schema: content }).signerInfos;
  if (!signer?.signedAttrs || others.length > 0) return undefined;
  const { attributes, encodedValue } = signer.signedAttrs;
  const attribute = (type: string) => attributes.find((item) => item.type === type)?.values[0];

  const digestName = DIGESTS[signer.digestAlgorithm.algorithmId];
  const bound = boundCertificate(attribute(SIGNING_CERTIFICATE_V2));
  const certificates = certificatesOf(content);
  const own = certificates.find((certificate) => sha256(certificate).equals(bound));
  if (!own) return undefined;
  const parts = {
    certificates: [own, ...certificates.filter((certificate) => certificate !== own)],
    signer: new X509Certificate(own),
    certificateSha256: bound.toString('hex'),
    signature: Buffer.from(signer.signature.valueBlock.valueHexView),
    digestOf: (bytes: readonly Buffer[]) => digest(digestName ?? 'sha256', bytes),
  };
  const named = SIGNATURES[signer.signatureAlgorithm.algorithmId];
  if (digestName === undefined || named === undefined) return { ...parts, fault: 'unknown algorithm' };
  const stated = Buffer.from((attribute(MESSAGE_DIGEST) as OctetString).valueBlock.valueHexView);
  if (!parts.digestOf(covered).equals(stated)) return { ...parts, fault: 'content' };
  const signed = verify(
    named === 'own' ? digestName : named,
    Buffer.from(encodedValue),
    parts.signer.publicKey,
    parts.signature,
  );
  return signed ? parts : { ...parts, fault: 'signature' };
}

/** The hash of the signer's certificate; only SHA-256, the attribute's default, is read. */
function boundCertificate(value: unknown): Buffer {
  const certificateId = sequenceIn(sequenceIn(value, 0), 0);
  const [hash] = certificateId.valueBlock.value;
  if (!(hash instanceof OctetString)) throw new Error('another digest than SHA-256');
  return Buffer.from(hash.valueBlock.valueHexView);
}

function sequenceIn(value: unknown, index: number): Sequence {
  if (!(value instanceof Sequence)) throw new Error('no sequence');
  return value.valueBlock.value[index] as Sequence;
}

/** The certificates byte for byte: field `[0]` of SignedData. */
function certificatesOf(content: Constructed): Buffer[] {
  const fields = fromBER(content.valueBeforeDecodeView).result as Sequence;
  const set = fields.valueBlock.value.find((field) => field.idBlock.tagClass === 3 && field.idBlock.tagNumber === 0);
  return ((set as Constructed | undefined)?.valueBlock.value ?? []).map((item) =>
    Buffer.from(item.valueBeforeDecodeView),
  );
}

const sha256 = (bytes: Buffer) => digest('sha256', [bytes]);

function digest(name: string, parts: readonly Buffer[]): Buffer {
  const hash = createHash(name);
  for (const part of parts) hash.update(part);
  return hash.digest();
}
