import { createHash, generateKeyPairSync, type KeyObject, randomBytes, sign } from 'node:crypto';
import { type CBORType, encodeCBOR } from '@levischuck/tiny-cbor';
import type { PasskeyAlgorithm } from '../../src/people/passkeys/cose-key.js';
import type { Asked, Assertion, Registration } from '../../src/people/passkeys/webauthn.js';

type Cose = Map<string | number, CBORType>;

/** What a test makes otherwise than an honest authenticator in an honest browser would. */
export interface Spoilt {
  readonly type?: string;
  readonly challenge?: Buffer;
  readonly origin?: string;
  readonly crossOrigin?: boolean;
  readonly topOrigin?: string;
  readonly host?: string;
  /** Bits of the flags: 1 somebody was present, 4 they were verified. */
  readonly flags?: number;
  readonly counter?: number;
  readonly cose?: Cose;
  readonly userHandle?: Buffer | null;
  readonly id?: string;
  /** Extensions, which an authenticator may add. */
  readonly extensions?: Cose;
  readonly bytes?: (authenticatorData: Buffer) => Buffer;
}

/** An authenticator in software with one passkey, and the browser around it. */
export class TestAuthenticator {
  readonly id = randomBytes(24).toString('base64url');
  counter = 0;

  private constructor(
    private readonly key: KeyObject,
    readonly cose: Cose,
    private readonly algorithm: PasskeyAlgorithm,
  ) {}

  static with(algorithm: PasskeyAlgorithm = 'ES256', rsaBits = 2048): TestAuthenticator {
    const pair =
      algorithm === 'ES256'
        ? generateKeyPairSync('ec', { namedCurve: 'P-256' })
        : algorithm === 'EdDSA'
          ? generateKeyPairSync('ed25519')
          : generateKeyPairSync('rsa', { modulusLength: rsaBits });
    const { x, y, n, e } = pair.publicKey.export({ format: 'jwk' });
    const bytes = (text: string | undefined) => new Uint8Array(Buffer.from(text ?? '', 'base64url'));
    const cose: Record<PasskeyAlgorithm, [number, CBORType][]> = {
      ES256: [
        [1, 2],
        [3, -7],
        [-1, 1],
        [-2, bytes(x)],
        [-3, bytes(y)],
      ],
      EdDSA: [
        [1, 1],
        [3, -8],
        [-1, 6],
        [-2, bytes(x)],
      ],
      RS256: [
        [1, 3],
        [3, -257],
        [-1, bytes(n)],
        [-2, bytes(e)],
      ],
    };
    return new TestAuthenticator(pair.privateKey, new Map(cose[algorithm]), algorithm);
  }

  /** As `navigator.credentials.create` gives it. */
  make(asked: Asked, spoilt: Spoilt = {}): Registration {
    const id = Buffer.from(this.id, 'base64url');
    const length = Buffer.from([id.length >> 8, id.length & 0xff]);
    const cose = encodeCBOR(spoilt.cose ?? this.cose);
    const data = Buffer.concat([this.head(asked, spoilt, 0x40), Buffer.alloc(16, 7), length, id, cose]);
    const authData = spoilt.bytes?.(data) ?? data;
    const attestation = new Map<string, CBORType>([
      ['fmt', 'none'],
      ['attStmt', new Map()],
      ['authData', new Uint8Array(authData)],
    ]);
    return {
      id: spoilt.id ?? this.id,
      clientDataJSON: clientData('webauthn.create', asked, spoilt).toString('base64url'),
      attestationObject: Buffer.from(encodeCBOR(attestation)).toString('base64url'),
    };
  }

  /** As `navigator.credentials.get` gives it. */
  use(asked: Asked, spoilt: Spoilt = {}): Assertion {
    this.counter += 1;
    const head = this.head(asked, spoilt, 0);
    const data = spoilt.bytes?.(head) ?? head;
    const client = clientData('webauthn.get', asked, spoilt);
    const signed = Buffer.concat([data, createHash('sha256').update(client).digest()]);
    const signature = sign(this.algorithm === 'EdDSA' ? null : 'sha256', signed, this.key);
    const handle = spoilt.userHandle === undefined ? asked.account : spoilt.userHandle;
    return {
      id: spoilt.id ?? this.id,
      clientDataJSON: client.toString('base64url'),
      authenticatorData: data.toString('base64url'),
      signature: signature.toString('base64url'),
      userHandle: handle?.toString('base64url') ?? null,
    };
  }

  private head(
    asked: Asked,
    { host = asked.host, flags = 0x05, counter = this.counter, extensions }: Spoilt,
    more: number,
  ) {
    const hash = createHash('sha256').update(host).digest();
    const rest = Buffer.alloc(5);
    rest[0] = flags | more | (extensions ? 0x80 : 0);
    rest.writeUInt32BE(counter, 1);
    return Buffer.concat([hash, rest, ...(extensions ? [encodeCBOR(extensions)] : [])]);
  }
}

function clientData(type: string, asked: Asked, spoilt: Spoilt): Buffer {
  const data = {
    type: spoilt.type ?? type,
    challenge: (spoilt.challenge ?? asked.challenge).toString('base64url'),
    origin: spoilt.origin ?? asked.origin,
    crossOrigin: spoilt.crossOrigin ?? false,
    ...(spoilt.topOrigin === undefined ? {} : { topOrigin: spoilt.topOrigin }),
  };
  return Buffer.from(JSON.stringify(data), 'utf8');
}
