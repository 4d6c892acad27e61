import { createHash, X509Certificate } from 'node:crypto';
import { DOMParser } from '@xmldom/xmldom';
import { SignedXml } from 'xml-crypto';
import { canonicalForms, DSIG, isCanonical, leavesOutSignature, notDigested } from './xml-canonical.js';
import { HASHES, signature, WAYS } from './xml-signature-ways.js';

/** By whom an XML document was signed, where its signature holds. */
interface XmlSignature {
  /** SHA-256 of the certificate (X.509, DER), whose key made the signature. */
  readonly certificateSha256: string;
  readonly subject: string;
  readonly issuer: string;
  readonly validFrom: string;
  readonly validTo: string;
  /** Of the certificates beside it that issued it, one the other, the nearest first. */
  readonly issuedBySha256: string[];
  /** When it was signed, as the signer says under the signature; null where that is not said. */
  readonly signedAt: string | null;
}

/** Why a signature is not believed: what was found, and what was expected. */
export class SignatureFault extends Error {
  constructor(
    readonly found: string,
    readonly expected: string,
  ) {
    super(found);
  }
}

const LEAST_RSA_BITS = 2048;
/** As OpenSSL names them: P-256, P-384 and P-521 of NIST, and of Brainpool (RFC 5639) those of as many bits. */
const CURVES = /^(?:prime256v1|secp256k1|secp384r1|secp521r1|brainpoolP(?:256|320|384|512)[rt]1)$/;
/** Object identifiers of RSA with MD2, MD5 and SHA-1, and of ECDSA with SHA-1, in DER (RFC 3279): for these a second certificate can be made. */
const WEAK_ISSUES = ['2a864886f70d010102', '2a864886f70d010104', '2a864886f70d010105', '2a8648ce3d0401'].map((oid) =>
  Buffer.from(`06${(oid.length / 2).toString(16).padStart(2, '0')}${oid}`, 'hex'),
);
const LONGEST_CHAIN = 5;
/** For each of them the whole document is digested. */
const MOST_SIGNATURES = 5;
/** What a signature says beside the document (ETSI EN 319 132-1, XAdES) names its certificate by one of these digests. */
const DIGESTS = /#(sha1|sha256|sha384|sha512)$/;

/**
 * Verifies the signatures that an XML document envelops (W3C XML Signature, `ds:Signature` as a child of its root, the form in
 * which digital calibration certificates are signed). Each has to cover the whole document but itself.
 * @param text a well-formed document without a document type declaration: whoever calls has read it strictly.
 * @returns whose they are, and for each the document as it was signed, in canonical form: only that may be believed.
 * @throws SignatureFault for one that does not hold, covers less, or is made in a way that is not known here.
 */
export function verifyXmlSignatures(text: string): readonly (XmlSignature & { readonly signed: string })[] {
  const document = parsed(text);
  const elements = childrenOf(document.documentElement, 'Signature');
  if (elements.length > MOST_SIGNATURES) {
    throw new SignatureFault(`${elements.length} signatures`, `at most ${MOST_SIGNATURES}`);
  }
  const apart = elements.length === 0 ? null : notDigested(document);
  if (apart !== null) throw new SignatureFault(apart, 'elements, texts and attributes alone: no more is verified');
  return elements.map((element) => verifyOne(element, document, text));
}

function parsed(text: string): Document {
  const raise = (message: string) => {
    throw new SignatureFault(`a document that cannot be verified (${message.split('\n')[0]})`, 'a plain XML document');
  };
  const parser = new DOMParser({ errorHandler: { warning: raise, error: raise, fatalError: raise } });
  return parser.parseFromString(text, 'text/xml');
}

const isOf = (node: Node, name: string): node is Element =>
  node.nodeType === 1 && (node as Element).namespaceURI === DSIG && (node as Element).localName === name;

const childrenOf = (from: Node, name: string): Element[] =>
  Array.from(from.childNodes).filter((node): node is Element => isOf(node, name));

function verifyOne(element: Element, document: Document, text: string): XmlSignature & { readonly signed: string } {
  const parts = Array.from(element.childNodes).filter(({ nodeType }) => nodeType === 1) as Element[];
  const [info, value, keys, ...objects] = parts;
  const isWell =
    info && value && keys && isOf(info, 'SignedInfo') && isOf(value, 'SignatureValue') && isOf(keys, 'KeyInfo');
  if (!isWell || !objects.every((one) => isOf(one, 'Object'))) {
    throw new SignatureFault(
      'a signature of another form',
      'SignedInfo, SignatureValue and KeyInfo with its certificate',
    );
  }
  const whole = wholeReference(info);
  const algorithm = childrenOf(info, 'SignatureMethod')[0]?.getAttribute('Algorithm') ?? 'no SignatureMethod';
  const way = Object.hasOwn(WAYS, algorithm) ? WAYS[algorithm] : undefined;
  if (way === undefined) {
    throw new SignatureFault(`a signature by ${algorithm}`, 'RSA or ECDSA with SHA-256, SHA-384 or SHA-512');
  }
  const certificates = certificatesOf(keys);
  let signer: X509Certificate | undefined;
  const verifier = new SignedXml({ publicCert: certificates[0]!.toString(), getCertFromKeyInfo: () => null });
  verifier.HashAlgorithms = { ...HASHES };
  Object.assign(verifier.CanonicalizationAlgorithms, canonicalForms(document));
  verifier.SignatureAlgorithms = {
    [algorithm]: signature(algorithm, way, certificates, (found) => {
      signer = found;
    }),
  };
  if (!holds(verifier, element, text) || signer === undefined) {
    throw new SignatureFault(
      'a signature that its certificate did not make',
      'a signature by the key of the certificate beside it',
    );
  }
  const signed = verifier.getSignedReferences();
  const others = signed.filter((_, at) => at !== whole);
  return { ...factsOf(signer, certificates, others.map(parsed)), signed: signed[whole]! };
}

/** @returns false where no key of its certificates made it. */
function holds(verifier: SignedXml, element: Element, text: string): boolean {
  let doesCover: boolean;
  try {
    verifier.loadSignature(element);
    doesCover = verifier.checkSignature(text);
  } catch (error) {
    const message = (error as Error).message;
    if (message.startsWith('invalid signature: the signature value')) return false;
    throw new SignatureFault(`a signature that cannot be verified (${message.slice(0, 200)})`, 'one of the usual form');
  }
  if (doesCover) return true;
  throw new SignatureFault('another content than the one that was signed', 'the document as it was signed');
}

/** Which of the references of a signature is to the whole document but the signature itself. */
function wholeReference(info: Element): number {
  const references = childrenOf(info, 'Reference');
  const whole = references.flatMap((one, at) =>
    one.hasAttribute('URI') && one.getAttribute('URI') === '' ? [at] : [],
  );
  const [at] = whole;
  const [first, ...others] = childrenOf(references[at ?? -1] ?? info, 'Transforms').flatMap((one) =>
    childrenOf(one, 'Transform'),
  );
  const isWhole =
    first !== undefined &&
    leavesOutSignature(first) &&
    others.length <= 1 &&
    others.every((one) => isCanonical(one.getAttribute('Algorithm') ?? ''));
  if (at !== undefined && whole.length === 1 && isWhole) return at;
  throw new SignatureFault('a signature over something else', 'a signature over the whole document but itself');
}

function certificatesOf(keys: Element): X509Certificate[] {
  const texts = childrenOf(keys, 'X509Data').flatMap((data) => childrenOf(data, 'X509Certificate'));
  if (texts.length === 0 || texts.length > 2 * LONGEST_CHAIN) {
    throw new SignatureFault(`${texts.length} certificates beside the signature`, 'the one of the signer, in X509Data');
  }
  return texts.map(({ textContent }) => {
    let certificate: X509Certificate;
    try {
      certificate = new X509Certificate(Buffer.from(textContent ?? '', 'base64'));
    } catch {
      throw new SignatureFault('a certificate that cannot be read', 'a certificate by X.509');
    }
    const { modulusLength, namedCurve } = certificate.publicKey.asymmetricKeyDetails ?? {};
    const expected = `RSA of at least ${LEAST_RSA_BITS} bits, or ECDSA of at least 256`;
    if (modulusLength !== undefined && modulusLength < LEAST_RSA_BITS)
      throw new SignatureFault(`a key of ${modulusLength} bits`, expected);
    if (namedCurve !== undefined && !CURVES.test(namedCurve))
      throw new SignatureFault(`a key of the curve ${namedCurve}`, expected);
    return certificate;
  });
}

const sha256Of = (certificate: X509Certificate): string => createHash('sha256').update(certificate.raw).digest('hex');

const onOneLine = (name: string): string => name.split('\n').filter(Boolean).join(', ');

function factsOf(
  certificate: X509Certificate,
  among: readonly X509Certificate[],
  others: readonly Document[],
): XmlSignature {
  const said = (name: string) => others.flatMap((one) => Array.from(one.getElementsByTagNameNS('*', name)));
  const named = said('CertDigest').map(digestOf);
  if (named.length > 0 && !named.some((one) => names(one, certificate))) {
    throw new SignatureFault('a signature that names another certificate as its own', 'the certificate that made it');
  }
  return {
    certificateSha256: sha256Of(certificate),
    subject: onOneLine(certificate.subject),
    issuer: onOneLine(certificate.issuer),
    validFrom: new Date(certificate.validFrom).toISOString(),
    validTo: new Date(certificate.validTo).toISOString(),
    issuedBySha256: chainOf(certificate, among).map(sha256Of),
    signedAt: said('SigningTime')[0]?.textContent?.trim() || null,
  };
}

interface Digest {
  readonly algorithm: string;
  readonly value: string;
}

function digestOf(element: Element): Digest {
  const algorithm = childrenOf(element, 'DigestMethod')[0]?.getAttribute('Algorithm') ?? '';
  return { algorithm, value: (childrenOf(element, 'DigestValue')[0]?.textContent ?? '').trim() };
}

/** Whether a digest is that of a certificate. The signature holds by its key: this only says that its maker meant no other one. */
function names({ algorithm, value }: Digest, { raw }: X509Certificate): boolean {
  const [, hash] = DIGESTS.exec(algorithm) ?? [];
  return hash !== undefined && createHash(hash).update(raw).digest('base64') === value;
}

/** Whether an authority issued a certificate, while its own was valid, and in a way that nobody else could have. */
function hasIssued(authority: X509Certificate, certificate: X509Certificate): boolean {
  const [from, at, to] = [authority.validFrom, certificate.validFrom, authority.validTo].map((day) => Date.parse(day));
  return (
    authority.ca &&
    from! <= at! &&
    at! <= to! &&
    !WEAK_ISSUES.some((way) => certificate.raw.includes(way)) &&
    certificate.checkIssued(authority) &&
    certificate.verify(authority.publicKey)
  );
}

/** Certificates that issued one the other, the nearest first, without the one itself. */
function chainOf(certificate: X509Certificate, among: readonly X509Certificate[]): X509Certificate[] {
  const chain: X509Certificate[] = [];
  let last = certificate;
  while (chain.length < LONGEST_CHAIN) {
    const issuer = among.find((one) => !chain.includes(one) && one !== last && hasIssued(one, last));
    if (issuer === undefined) return chain;
    chain.push(issuer);
    last = issuer;
  }
  return chain;
}
