import {
  constants,
  createHash,
  createVerify,
  type KeyLike,
  type SignKeyObjectInput,
  type X509Certificate,
} from 'node:crypto';
import type { HashAlgorithm, SignatureAlgorithm } from 'xml-crypto';

const MORE = 'http://www.w3.org/2001/04/xmldsig-more#';
const MORE_2007 = 'http://www.w3.org/2007/05/xmldsig-more#';
const ENC = 'http://www.w3.org/2001/04/xmlenc#';

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
export const signature = (
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
export const HASHES: Readonly<Record<string, new () => HashAlgorithm>> = Object.fromEntries(
  [[`${ENC}sha256`, 'sha256'] as const, [`${MORE}sha384`, 'sha384'] as const, [`${ENC}sha512`, 'sha512'] as const].map(
    ([uri, name]) => [uri, hash(name, uri)],
  ),
);
export const WAYS: Readonly<Record<string, Way>> = Object.fromEntries(
  BITS.flatMap((bits) =>
    [
      [`${MORE}rsa-sha${bits}`, { sort: 'rsa', padding: {} }] as const,
      [`${MORE_2007}sha${bits}-rsa-MGF1`, { sort: 'rsa', padding: PSS }] as const,
      [`${MORE}ecdsa-sha${bits}`, { sort: 'ec', padding: { dsaEncoding: 'ieee-p1363' } }] as const,
    ].map(([uri, way]): [string, Way] => [uri, { digest: `sha${bits}`, ...way }]),
  ),
);
