import { createPrivateKey, createPublicKey, generateKeyPairSync, sign, verify } from 'node:crypto';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import { fingerprintOf } from '../../src/dossier/public-key.js';
import { faultOfStatement, Meaning, Role, type SignedStatement, Statement } from '../../src/dossier/statement.js';

/** RFC 8032, section 7.1, tests 1 to 3 and SHA(abc): secret, public, message, signature. */
const RFC_8032 = [
  {
    name: 'TEST 1',
    secret: '9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60',
    publicKey: 'd75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a',
    message: '',
    signature:
      'e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b',
  },
  {
    name: 'TEST 2',
    secret: '4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb',
    publicKey: '3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c',
    message: '72',
    signature:
      '92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00',
  },
  {
    name: 'TEST 3',
    secret: 'c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7',
    publicKey: 'fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025',
    message: 'af82',
    signature:
      '6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a',
  },
  {
    name: 'TEST SHA(abc)',
    secret: '833fe62409237b9d62ec77587520911e9a759cec1d19755b7da901b96dca3d42',
    publicKey: 'ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf',
    message:
      'ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f',
    signature:
      'dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b58909351fc9ac90b3ecfdfbc7c66431e0303dca179c138ac17ad9bef1177331a704',
  },
] as const;

/** A raw key in the form that node:crypto takes (RFC 8410). */
function keysOf({ secret, publicKey }: { secret: string; publicKey: string }) {
  const der = (head: string, raw: string) => Buffer.from(head + raw, 'hex');
  return {
    secret: createPrivateKey({ key: der('302e020100300506032b657004220420', secret), format: 'der', type: 'pkcs8' }),
    publicKey: createPublicKey({ key: der('302a300506032b6570032100', publicKey), format: 'der', type: 'spki' }),
  };
}

describe('Ed25519 as statements use it', () => {
  it.each(RFC_8032)('gives and takes the signature of RFC 8032 7.1 $name', (vector) => {
    const { secret, publicKey } = keysOf(vector);
    const message = Buffer.from(vector.message, 'hex');
    expect(sign(null, message, secret).toString('hex')).toBe(vector.signature);
    const raw = createPublicKey(secret).export({ format: 'der', type: 'spki' }).subarray(12).toString('hex');
    expect(raw).toBe(vector.publicKey);
    expect(verify(null, message, publicKey, Buffer.from(vector.signature, 'hex'))).toBe(true);
    const other = Buffer.concat([message, Buffer.from([0])]);
    expect(verify(null, other, publicKey, Buffer.from(vector.signature, 'hex'))).toBe(false);
  });
});

describe('a signed statement', () => {
  const { publicKey, secret } = keysOf(RFC_8032[0]);
  const pem = publicKey.export({ format: 'pem', type: 'spki' }).toString();

  const subject = { kind: 'lot file', key: 'L-1', revision: null, digest: sha256Hex('lot file') };
  const statement: Statement = {
    format: 1,
    meaning: 'released',
    subjects: [subject],
    beside: [{ kind: 'assessment', digest: sha256Hex('assessment') }],
    units: ['L-1-I1'],
    step: 'distribution',
    outcome: null,
    reason: null,
    person: {
      code: 'P-RE',
      name: 'Rita Example',
      role: 'releaser',
      deputyFor: null,
      key: sha256Hex('key'),
      recoveredBy: null,
    },
    at: '2031-03-05T12:00:00.000Z',
    offset: '+01:00',
    installation: fingerprintOf(pem),
    demo: true,
  };

  const sealed = (what: Statement): SignedStatement => {
    const text = canonicalJson(what);
    return {
      statement: what,
      digest: sha256Hex(text),
      personSignature: '',
      signature: sign(null, Buffer.from(text), secret).toString('base64'),
    };
  };
  const signed = sealed(statement);

  it('holds under the key of its installation, also after a way through JSON', () => {
    expect(faultOfStatement(signed, pem)).toBeUndefined();
    const back = JSON.parse(JSON.stringify(signed)) as SignedStatement;
    expect(Statement.parse(back.statement)).toEqual(statement);
    expect(faultOfStatement(back, pem)).toBeUndefined();
  });

  const TAMPERED: readonly [string, Partial<Statement>][] = [
    ['format', { format: 2 as 1 }],
    ['meaning', { meaning: 'rejected' }],
    ['subject: the lot', { subjects: [{ ...subject, key: 'L-2' }] }],
    ['subject: the digest', { subjects: [{ ...subject, digest: sha256Hex('another lot file') }] }],
    ['subject: the revision', { subjects: [{ ...subject, revision: 2 }] }],
    ['subjects: one more', { subjects: [subject, { ...subject, digest: sha256Hex('one more') }] }],
    ['subjects: none', { subjects: [] }],
    ['beside', { beside: [] }],
    ['units', { units: ['L-1-I1', 'L-1-I2'] }],
    ['step', { step: 'sterilisation' }],
    ['outcome', { outcome: 'accepted' }],
    ['reason', { reason: 'afterwards' }],
    ['person: the code', { person: { ...statement.person, code: 'P-QE' } }],
    ['person: the name', { person: { ...statement.person, name: 'Somebody Else' } }],
    ['person: the role', { person: { ...statement.person, role: 'quality engineer' } }],
    ['person: the key', { person: { ...statement.person, key: sha256Hex('another key') } }],
    ['person: whether the key was recovered', { person: { ...statement.person, recoveredBy: ['P-AD', 'P-QE'] } }],
    ['person: whose deputy', { person: { ...statement.person, deputyFor: 'P-QE' } }],
    ['at', { at: '2031-03-04T12:00:00.000Z' }],
    ['offset', { offset: '+02:00' }],
    ['demo', { demo: false }],
  ];

  it.each(TAMPERED)('shows that its %s was changed, with the digest left and with it made again', (_, change) => {
    const forged = { ...statement, ...change };
    expect(faultOfStatement({ ...signed, statement: forged }, pem)).toBe('another digest');
    const again = { ...signed, statement: forged, digest: sha256Hex(canonicalJson(forged)) };
    expect(faultOfStatement(again, pem)).toBe('not its signature');
  });

  it('covers every field that it has', () => {
    const changed = new Set(TAMPERED.flatMap(([, change]) => Object.keys(change)));
    expect(Object.keys(Statement.shape).filter((field) => !changed.has(field))).toEqual(['installation']);
  });

  it('names another installation, whose key is not the one it is checked with', () => {
    const other = generateKeyPairSync('ed25519').publicKey.export({ format: 'pem', type: 'spki' }).toString();
    expect(faultOfStatement(signed, other)).toBe('another installation');
    const claimed = sealed({ ...statement, installation: fingerprintOf(other) });
    expect(faultOfStatement(claimed, other)).toBe('not its signature');
  });

  it('covers a listed set: things of one kind, at least one, none twice', () => {
    const other = { ...subject, digest: sha256Hex('one more') };
    const of = (subjects: Statement['subjects']) => Statement.safeParse({ ...statement, subjects }).success;
    expect(of([subject, other])).toBe(true);
    expect(of([])).toBe(false);
    expect(of([subject, subject])).toBe(false);
    expect(of([subject, { ...other, kind: 'recipe' }])).toBe(false);
    // Alone or many alike as one: both are findings of a log.
    const findings = ['log finding', 'log finding group', 'check finding'].map((kind) => ({
      ...subject,
      kind,
      digest: sha256Hex(kind),
    }));
    expect(of(findings.slice(0, 2))).toBe(true);
    expect(of(findings)).toBe(false);
  });

  it('is refused with a signature of another length, of nothing, or in no base64', () => {
    for (const signature of ['', 'AAAA', '!', signed.signature.slice(4)]) {
      expect(faultOfStatement({ ...signed, signature }, pem)).toBe('not its signature');
    }
  });

  it('has a printed name, the time with its offset, and a meaning, and none of them may be missing (21 CFR 11.50)', () => {
    for (const field of ['person', 'at', 'offset', 'meaning', 'subjects'] as const) {
      const { [field]: _, ...rest } = statement;
      expect(Statement.safeParse(rest).success).toBe(false);
    }
    expect(Statement.safeParse({ ...statement, at: 'yesterday' }).success).toBe(false);
    expect(Meaning.options).toHaveLength(7);
    expect(Role.options).toHaveLength(9);
  });
});
