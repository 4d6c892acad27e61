import { createHash } from 'node:crypto';
import fs from 'node:fs';
import { decodeCBOR } from '@levischuck/tiny-cbor';
import { hasSigned, keyFromCose, type PasskeyAlgorithm } from '../../../src/people/passkeys/cose-key.js';
import { PasskeyError } from '../../../src/people/passkeys/passkey-fault.js';
import { type Asked, checkAssertion, readRegistration } from '../../../src/people/passkeys/webauthn.js';
import { passkeyFaultText } from '../../../src/report/phrases/passkeys.js';
import { type Spoilt, TestAuthenticator } from '../../support/authenticator.js';

const asked = (extra: Partial<Asked> = {}): Asked => ({
  challenge: Buffer.alloc(32, 1),
  origin: 'https://lots.example:8443',
  host: 'lots.example',
  account: Buffer.alloc(32, 2),
  ...extra,
});

/** The code of why something does not count, or what it gives. */
function outcome<T>(work: () => T): T | string {
  try {
    return work();
  } catch (error) {
    if (!(error instanceof PasskeyError)) throw error;
    expect(error.message).toBe(passkeyFaultText(error.fault));
    return error.fault.code;
  }
}

describe.each(['ES256', 'EdDSA', 'RS256'] as const)('a passkey that signs by %s', (algorithm) => {
  it('is made, and signs what it was asked for and nothing else', () => {
    const own = TestAuthenticator.with(algorithm);
    const made = readRegistration(own.make(asked()), asked());
    expect(made).toMatchObject({ credential: own.id, counter: 0, algorithm });
    expect(checkAssertion(own.use(asked()), made, asked())).toEqual({ counter: 1 });
    const other = asked({ challenge: Buffer.alloc(32, 3) });
    expect(outcome(() => checkAssertion(own.use(asked()), made, other))).toBe('another challenge');
    const strange = TestAuthenticator.with(algorithm).use(asked(), { id: own.id });
    expect(outcome(() => checkAssertion(strange, made, asked()))).toBe('another signature');
  });
});

const es256 = TestAuthenticator.with();
const made = readRegistration(es256.make(asked()), asked());
const PLAIN = Buffer.from('{"type":"webauthn.get"', 'utf8').toString('base64url');

describe('what does not count (ASVS 2.3.2)', () => {
  const BOTH: readonly (readonly [why: string, spoilt: Spoilt, code: string])[] = [
    ['another site', { origin: 'https://lots.example.evil.test' }, 'another origin'],
    ['another port of the same host', { origin: 'https://lots.example' }, 'another origin'],
    ['no TLS', { origin: 'http://lots.example:8443' }, 'another origin'],
    ['a frame in a page of another site', { crossOrigin: true }, 'another origin'],
    ['a frame that says which site', { crossOrigin: true, topOrigin: 'https://evil.test' }, 'another origin'],
    ['a challenge of before', { challenge: Buffer.alloc(32, 9) }, 'another challenge'],
    ['no challenge', { challenge: Buffer.alloc(0) }, 'another challenge'],
    ['another service', { host: 'example' }, 'another service'],
    ['nobody present', { flags: 0x04 }, 'nobody present'],
    ['nobody verified', { flags: 0x01 }, 'not verified'],
    ['bytes behind it', { bytes: (data) => Buffer.concat([data, Buffer.from([0])]) }, 'not readable'],
    ['a head that is cut', { bytes: (data) => data.subarray(0, 36) }, 'not readable'],
  ];

  it.each(BOTH)('%s, when it is made and when it is used', (_, spoilt, code) => {
    expect(outcome(() => readRegistration(es256.make(asked(), spoilt), asked()))).toBe(code);
    expect(outcome(() => checkAssertion(es256.use(asked(), spoilt), made, asked()))).toBe(code);
  });

  it('one ceremony in the place of the other', () => {
    expect(outcome(() => readRegistration(es256.make(asked(), { type: 'webauthn.get' }), asked()))).toBe(
      'another type',
    );
    expect(outcome(() => checkAssertion(es256.use(asked(), { type: 'webauthn.create' }), made, asked()))).toBe(
      'another type',
    );
  });

  it('the passkey of another account', () => {
    const spoilt = { userHandle: Buffer.alloc(32, 8) };
    expect(outcome(() => checkAssertion(es256.use(asked(), spoilt), made, asked()))).toBe('another person');
    expect(checkAssertion(es256.use(asked(), { userHandle: null }), made, asked()).counter).toBeGreaterThan(0);
  });

  const changed = (label: number, value: number | Uint8Array) => new Map([...es256.cose, [label, value]]);
  it.each([
    ['ES384', changed(3, -35), 'another algorithm'],
    ['a curve of another length', changed(-1, 2), 'another algorithm'],
    [
      'RSA without its numbers',
      new Map<number, number>([
        [1, 3],
        [3, -257],
      ]),
      'not readable',
    ],
    ['RSA of 1024 bits', TestAuthenticator.with('RS256', 1024).cose, 'another algorithm'],
    [
      'Ed25519 on another curve',
      new Map<number, number>([
        [1, 1],
        [3, -8],
        [-1, 7],
      ]),
      'another algorithm',
    ],
    ['a point that is on no curve', changed(-3, new Uint8Array(32)), 'not readable'],
    ['a short point', changed(-2, new Uint8Array(31)), 'not readable'],
  ])('a key by %s (ASVS 2.9.3)', (_, cose, code) => {
    expect(outcome(() => readRegistration(es256.make(asked(), { cose: cose as never }), asked()))).toBe(code);
  });

  it('CBOR that is cut at whatever byte, or has one byte changed, never more than a refusal', () => {
    const whole = es256.make(asked());
    const bytes = Buffer.from(whole.attestationObject, 'base64url');
    for (let at = 0; at < bytes.length; at++) {
      const cut = { ...whole, attestationObject: bytes.subarray(0, at).toString('base64url') };
      expect([at, outcome(() => readRegistration(cut, asked()))]).toEqual([at, 'not readable']);
      const flipped = Buffer.from(bytes);
      flipped[at]! ^= 0x80;
      outcome(() => readRegistration({ ...whole, attestationObject: flipped.toString('base64url') }, asked()));
    }
  });

  it('CBOR that nests without end, or announces more than there is', () => {
    for (const bytes of [
      Buffer.alloc(10_000, 0x81),
      Buffer.from('5b7fffffffffffffff', 'hex'),
      Buffer.alloc(17_000, 0xa1),
    ]) {
      const given = { ...es256.make(asked()), attestationObject: bytes.toString('base64url') };
      expect(outcome(() => readRegistration(given, asked()))).toBe('not readable');
    }
  });

  it('client data that is no JSON, no UTF-8, or says too little', () => {
    for (const clientDataJSON of [PLAIN, Buffer.from([0xff]).toString('base64url'), '', 'e30']) {
      expect(outcome(() => checkAssertion({ ...es256.use(asked()), clientDataJSON }, made, asked()))).toBe(
        'not readable',
      );
    }
  });

  it('an identifier that is not the one in it', () => {
    expect(outcome(() => readRegistration(es256.make(asked(), { id: 'AAAA' }), asked()))).toBe('not readable');
  });
});

it('reads past extensions', () => {
  const extensions = new Map([['credProtect', 2]]);
  expect(checkAssertion(es256.use(asked(), { extensions }), made, asked()).counter).toBeGreaterThan(0);
});

interface Vector {
  readonly name: string;
  readonly made: Readonly<Record<'challenge' | 'credential' | 'clientDataJSON' | 'attestationObject', string>>;
  readonly used: Readonly<Record<'challenge' | 'authenticatorData' | 'clientDataJSON' | 'signature', string>>;
}
const { vectors } = JSON.parse(fs.readFileSync('tests/people/passkeys/w3c-vectors.json', 'utf8')) as {
  vectors: readonly Vector[];
};

describe('the examples of the W3C (Web Authentication, section "Test Vectors")', () => {
  const bytes = (hex: string) => Buffer.from(hex, 'hex');
  const text = (hex: string) => bytes(hex).toString('base64url');
  const askedBy = (challenge: string) =>
    asked({ challenge: bytes(challenge), origin: 'https://example.org', host: 'example.org' });
  const coseOf = ({ made: { attestationObject, credential } }: Vector) => {
    const object = decodeCBOR(new Uint8Array(bytes(attestationObject))) as Map<string, Uint8Array>;
    const place = 37 + 16 + 2 + credential.length / 2;
    return decodeCBOR(new Uint8Array(object.get('authData')!.slice(place))) as Map<number, never>;
  };

  // Some are of an authenticator that did not verify anybody: these are refused, since we ask for it.
  it.each([
    ['none-es256', 'not verified', 'not verified'],
    ['packed-self-es256', 'ES256', 'not verified'],
    ['none-es256-crossOrigin', 'another origin', 'another origin'],
    ['none-es256-topOrigin', 'another origin', 'another origin'],
    ['none-es256-long-credential-id', 'not verified', 'holds'],
    ['packed-rs256', 'RS256', 'not verified'],
    ['packed-eddsa', 'not verified', 'not verified'],
    ['packed-es384', 'not verified', 'another algorithm'],
    ['packed-ed448', 'not verified', 'another algorithm'],
  ])('%s come out so: made %s, used %s', (name, ofMaking, ofUsing) => {
    const vector = vectors.find((one) => one.name === name)!;
    const { challenge, credential, clientDataJSON, attestationObject } = vector.made;
    const given = {
      id: text(credential),
      clientDataJSON: text(clientDataJSON),
      attestationObject: text(attestationObject),
    };
    const found = outcome(() => readRegistration(given, askedBy(challenge)));
    expect(typeof found === 'string' ? found : found.algorithm).toBe(ofMaking);
    const { used } = vector;
    const assertion = {
      id: text(credential),
      clientDataJSON: text(used.clientDataJSON),
      authenticatorData: text(used.authenticatorData),
      signature: text(used.signature),
      userHandle: null,
    };
    const use = () => checkAssertion(assertion, keyFromCose(coseOf(vector)), askedBy(used.challenge));
    const result = outcome(use);
    expect(typeof result === 'string' ? result : 'holds').toBe(ofUsing);
  });

  it.each([
    ['none-es256', 'ES256'],
    ['packed-self-es256', 'ES256'],
    ['none-es256-crossOrigin', 'ES256'],
    ['none-es256-long-credential-id', 'ES256'],
    ['packed-rs256', 'RS256'],
    ['packed-eddsa', 'EdDSA'],
  ] satisfies [string, PasskeyAlgorithm][])(
    '%s: the key is read, and its signature holds by itself',
    (name, algorithm) => {
      const vector = vectors.find((one) => one.name === name)!;
      const key = keyFromCose(coseOf(vector));
      expect(key.algorithm).toBe(algorithm);
      const { authenticatorData, clientDataJSON, signature } = vector.used;
      const signed = Buffer.concat([
        bytes(authenticatorData),
        createHash('sha256').update(bytes(clientDataJSON)).digest(),
      ]);
      expect(hasSigned(key, signed, bytes(signature))).toBe(true);
      signed[36]! ^= 1;
      expect(hasSigned(key, signed, bytes(signature))).toBe(false);
    },
  );
});
