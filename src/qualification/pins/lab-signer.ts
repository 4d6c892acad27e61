import { createHash, createSign, generateKeyPairSync, type KeyLike, X509Certificate } from 'node:crypto';
import { SignedXml } from 'xml-crypto';
import { selfSignedCertificate } from '../../pdf/seal/certificate.js';

/**
 * Signs what the invented laboratory sends, as published digital calibration certificates are signed: XAdES (ETSI EN 319
 * 132-1) with ECDSA, enveloped, over the whole document. Its key is made anew by each process that plays the demo, lies
 * nowhere and signs nothing else.
 */
const DSIG = 'http://www.w3.org/2000/09/xmldsig#';
const EXCLUSIVE = 'http://www.w3.org/2001/10/xml-exc-c14n#';
const CANONICAL_1_0 = 'http://www.w3.org/TR/2001/REC-xml-c14n-20010315';
const SHA256 = 'http://www.w3.org/2001/04/xmlenc#sha256';
const ECDSA = 'http://www.w3.org/2001/04/xmldsig-more#ecdsa-sha256';
const XADES = 'http://uri.etsi.org/01903';
const FROM = new Date('2026-01-05T00:00:00Z');
const PROPERTIES = 'signed-properties';

interface Signer {
  readonly key: KeyLike;
  readonly certificate: Buffer;
}

const made = new Map<string, Signer>();

/** The key of a laboratory, made when it is first asked for. */
function signer(laboratory: string): Signer {
  const known = made.get(laboratory);
  if (known) return known;
  const { privateKey: key } = generateKeyPairSync('ec', { namedCurve: 'P-256' });
  const own = { key, certificate: selfSignedCertificate(key, laboratory, FROM) };
  made.set(laboratory, own);
  return own;
}

const sha256Of = (bytes: Buffer, encoding: 'hex' | 'base64') => createHash('sha256').update(bytes).digest(encoding);

/** SHA-256 of the certificate by which the laboratory signs: whoever holds it to be theirs names it by this. */
export const laboratoryCertificate = (laboratory: string): string => sha256Of(signer(laboratory).certificate, 'hex');

/** Of these algorithms the library has all but this one. */
const ecdsa = class {
  getAlgorithmName = () => ECDSA;
  getSignature = (material: string, key: KeyLike) =>
    createSign('sha256')
      .update(material)
      .sign({ key, dsaEncoding: 'ieee-p1363' } as never, 'base64');
  verifySignature = (): boolean => {
    throw new Error('nothing is verified here');
  };
};

/** @param xml a document whose root ends on a line of its own. @param at when it was signed. */
export function signedByLaboratory(xml: string, laboratory: string, at: string): string {
  const { key, certificate } = signer(laboratory);
  const base64 = new X509Certificate(certificate).raw.toString('base64');
  const signing = new SignedXml({
    ...{ privateKey: key, signatureAlgorithm: ECDSA, canonicalizationAlgorithm: EXCLUSIVE },
    getKeyInfoContent: () => `<ds:X509Data><ds:X509Certificate>${base64}</ds:X509Certificate></ds:X509Data>`,
    objects: [{ content: propertiesOf(sha256Of(certificate, 'base64'), at) }],
  });
  signing.SignatureAlgorithms = { [ECDSA]: ecdsa as unknown as (typeof signing.SignatureAlgorithms)[string] };
  const digestAlgorithm = SHA256;
  signing.addReference({
    ...{ xpath: '/*', digestAlgorithm, isEmptyUri: true },
    transforms: [`${DSIG}enveloped-signature`, CANONICAL_1_0],
  });
  signing.addReference({
    ...{ xpath: `//*[@Id='${PROPERTIES}']`, digestAlgorithm, transforms: [EXCLUSIVE] },
    type: `${XADES}#SignedProperties`,
  });
  signing.computeSignature(xml, { prefix: 'ds', attrs: { Id: 'signature' } });
  const end = xml.lastIndexOf('</');
  return `${xml.slice(0, end)}${signing.getSignatureXml()}${xml.slice(end)}`;
}

function propertiesOf(certificateSha256: string, at: string): string {
  const digest = `<ds:DigestMethod Algorithm="${SHA256}"/><ds:DigestValue>${certificateSha256}</ds:DigestValue>`;
  const named = `<xades:Cert><xades:CertDigest>${digest}</xades:CertDigest></xades:Cert>`;
  return [
    `<xades:QualifyingProperties xmlns:xades="${XADES}/v1.3.2#" Target="#signature">`,
    `<xades:SignedProperties Id="${PROPERTIES}"><xades:SignedSignatureProperties>`,
    `<xades:SigningTime>${at}</xades:SigningTime>`,
    `<xades:SigningCertificateV2>${named}</xades:SigningCertificateV2>`,
    '</xades:SignedSignatureProperties></xades:SignedProperties></xades:QualifyingProperties>',
  ].join('');
}
