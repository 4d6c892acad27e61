import {
  constants,
  createHash,
  createVerify,
  type KeyLike,
  type SignKeyObjectInput,
  X509Certificate,
} from 'node:crypto';
import { DOMParser } from '@xmldom/xmldom';
import { type HashAlgorithm, type SignatureAlgorithm, SignedXml } from 'xml-crypto';

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

const DSIG = 'http://www.w3.org/2000/09/xmldsig#';
const MORE = 'http://www.w3.org/2001/04/xmldsig-more#';
const MORE_2007 = 'http://www.w3.org/2007/05/xmldsig-more#';
const ENC = 'http://www.w3.org/2001/04/xmlenc#';
const ENVELOPED = `${DSIG}enveloped-signature`;
const INCLUSIVE = 'http://www.w3.org/TR/2001/REC-xml-c14n-20010315';
const EXCLUSIVE = 'http://www.w3.org/2001/10/xml-exc-c14n#';
const CANONICAL: ReadonlySet<string> = new Set(
  [INCLUSIVE, EXCLUSIVE].flatMap((name) => [name, name.endsWith('#') ? `${name}WithComments` : `${name}#WithComments`]),
);
const LEAST_RSA_BITS = 2048;
const LONGEST_CHAIN = 5;
/** For each of them the whole document is digested. */
const MOST_SIGNATURES = 5;
/** Of what a signature says beside the document (ETSI EN 319 132-1, XAdES). */
const SIGNING_TIME = /<(?:[\w.-]+:)?SigningTime(?:\s[^>]*)?>\s*([^<\s]+)\s*</;

/** A digest by name (XML Encryption 1.1, 5.8; RFC 9231). */
const hash = (name: string, uri: string): (new () => HashAlgorithm) =>
  class {
    getAlgorithmName = () => uri;
    getHash = (xml: string) => createHash(name).update(xml, 'utf8').digest('base64');
  };

type Padding = Pick<SignKeyObjectInput, 'padding' | 'saltLength' | 'dsaEncoding'>;

/** A way to sign (XML Signature 1.1, 6.4; RFC 9231). */
interface Way {
  readonly digest: string;
  readonly sort: 'rsa' | 'ec';
  readonly padding: Padding;
}

/** Whether the key of a certificate made a signature. */
function isMadeBy(
  { publicKey: key }: X509Certificate,
  { digest, sort, padding }: Way,
  material: string,
  value: string,
) {
  // A key of another sort would be asked for something that the signature does not say.
  if (key.asymmetricKeyType !== sort) return false;
  try {
    return createVerify(digest)
      .update(material)
      .verify({ key, ...padding }, value, 'base64');
  } catch {
    // One of another length than keys of its curve make.
    return false;
  }
}

/**
 * A way to sign that is only ever verified, by whichever of these certificates made it: the document is digested once.
 * @param found is told which one it was.
 */
const signature = (
  uri: string,
  way: Way,
  certificates: readonly X509Certificate[],
  found: (signer: X509Certificate) => void,
): (new () => SignatureAlgorithm) =>
  class {
    getAlgorithmName = () => uri;
    getSignature = (): string => {
      throw new Error('nothing is signed here');
    };
    verifySignature = (material: string, _: KeyLike, value: string): boolean => {
      const signer = certificates.find((one) => isMadeBy(one, way, material, value));
      if (signer) found(signer);
      return signer !== undefined;
    };
  };

const BITS = ['256', '384', '512'];
const PSS = { padding: constants.RSA_PKCS1_PSS_PADDING, saltLength: constants.RSA_PSS_SALTLEN_DIGEST };
/** SHA-1, MD5 and shared keys (HMAC) are in none of these. */
const HASHES: Readonly<Record<string, new () => HashAlgorithm>> = Object.fromEntries(
  [[`${ENC}sha256`, 'sha256'] as const, [`${MORE}sha384`, 'sha384'] as const, [`${ENC}sha512`, 'sha512'] as const].map(
    ([uri, name]) => [uri, hash(name, uri)],
  ),
);
const WAYS: Readonly<Record<string, Way>> = Object.fromEntries(
  BITS.flatMap((bits) =>
    [
      [`${MORE}rsa-sha${bits}`, { sort: 'rsa', padding: {} }] as const,
      [`${MORE_2007}sha${bits}-rsa-MGF1`, { sort: 'rsa', padding: PSS }] as const,
      [`${MORE}ecdsa-sha${bits}`, { sort: 'ec', padding: { dsaEncoding: 'ieee-p1363' } }] as const,
    ].map(([uri, way]): [string, Way] => [uri, { digest: `sha${bits}`, ...way }]),
  ),
);

/**
 * Verifies the signatures that an XML document envelops (W3C XML Signature, `ds:Signature` as a child of its root, the form in
 * which digital calibration certificates are signed). Each has to cover the whole document but itself.
 * @param text a well-formed document without a document type declaration: whoever calls has read it strictly.
 * @returns whose they are, and for each the document as it was signed, in canonical form: only that may be believed.
 * @throws SignatureFault for one that does not hold, covers less, or is made in a way that is not known here.
 */
export function verifyXmlSignatures(text: string): readonly (XmlSignature & { readonly signed: string })[] {
  const elements = childrenOf(parsed(text), 'Signature');
  if (elements.length > MOST_SIGNATURES) {
    throw new SignatureFault(`${elements.length} signatures`, `at most ${MOST_SIGNATURES}`);
  }
  return elements.map((element) => verifyOne(element, text));
}

function parsed(text: string): Element {
  const raise = (message: string) => {
    throw new SignatureFault(`a document that cannot be verified (${message.split('\n')[0]})`, 'a plain XML document');
  };
  const parser = new DOMParser({ errorHandler: { warning: raise, error: raise, fatalError: raise } });
  return parser.parseFromString(text, 'text/xml').documentElement;
}

const isOf = (node: Node, name: string): node is Element =>
  node.nodeType === 1 && (node as Element).namespaceURI === DSIG && (node as Element).localName === name;

const childrenOf = (from: Node, name: string): Element[] =>
  Array.from(from.childNodes).filter((node): node is Element => isOf(node, name));

function verifyOne(element: Element, text: string): XmlSignature & { readonly signed: string } {
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
  return { ...factsOf(signer, certificates, others), signed: signed[whole]! };
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
  const transforms = childrenOf(references[at ?? -1] ?? info, 'Transforms')
    .flatMap((one) => childrenOf(one, 'Transform'))
    .map((one) => one.getAttribute('Algorithm') ?? '');
  const [first, ...others] = transforms;
  const isWhole = first === ENVELOPED && others.length <= 1 && others.every((one) => CANONICAL.has(one));
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
    const { modulusLength } = certificate.publicKey.asymmetricKeyDetails ?? {};
    if (modulusLength === undefined || modulusLength >= LEAST_RSA_BITS) return certificate;
    throw new SignatureFault(`a key of ${modulusLength} bits`, `RSA of at least ${LEAST_RSA_BITS} bits, or ECDSA`);
  });
}

const sha256Of = (certificate: X509Certificate): string => createHash('sha256').update(certificate.raw).digest('hex');

const onOneLine = (name: string): string => name.split('\n').filter(Boolean).join(', ');

function factsOf(
  certificate: X509Certificate,
  among: readonly X509Certificate[],
  others: readonly string[],
): XmlSignature {
  return {
    certificateSha256: sha256Of(certificate),
    subject: onOneLine(certificate.subject),
    issuer: onOneLine(certificate.issuer),
    validFrom: new Date(certificate.validFrom).toISOString(),
    validTo: new Date(certificate.validTo).toISOString(),
    issuedBySha256: chainOf(certificate, among).map(sha256Of),
    signedAt: others.map((one) => SIGNING_TIME.exec(one)?.[1]).find((one) => one !== undefined) ?? null,
  };
}

/** Certificates that issued one the other, the nearest first, without the one itself. */
function chainOf(certificate: X509Certificate, among: readonly X509Certificate[]): X509Certificate[] {
  const chain: X509Certificate[] = [];
  let last = certificate;
  while (chain.length < LONGEST_CHAIN) {
    const issuer = among.find(
      (one) => one.ca && !chain.includes(one) && one !== last && last.checkIssued(one) && last.verify(one.publicKey),
    );
    if (issuer === undefined) return chain;
    chain.push(issuer);
    last = issuer;
  }
  return chain;
}
