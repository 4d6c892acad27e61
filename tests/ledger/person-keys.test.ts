import fc from 'fast-check';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import type { SignedStatement } from '../../src/dossier/statement.js';
import { type Named, type PersonKey, personKeysOf, vouchingNeeded } from '../../src/ledger/person-keys.js';
import { faultOfSigned } from '../../src/ledger/signed-statement.js';
import { OwnKey } from '../support/intruder.js';
import { type Installation, signedBy, TestPerson, type UnsignedStatement } from '../support/person-keys.js';

/** A key of an installation that signs whatever it is given. */
const installationOf = (own = new OwnKey()): Installation & { publicPem: string } => ({
  fingerprint: own.fingerprint,
  publicPem: own.publicPem,
  sign: (text) => Buffer.from(own.sign(text), 'base64'),
});
const installation = installationOf();
const pems = new Map([[installation.fingerprint, installation.publicPem]]);

const [ada, ben, cleo] = ['Ada', 'Ben', 'Cleo'].map((code) => new TestPerson(code, `${code} Example`)) as [
  TestPerson,
  TestPerson,
  TestPerson,
];
const again = new TestPerson('Cleo', 'Cleo Example', 'after the loss');

const FIRST: readonly PersonKey[] = [
  ada.named(installation),
  ben.named(installation, [ada]),
  cleo.named(installation, [ben]),
];
const inOrder = (...keys: readonly PersonKey[]): Named[] => keys.map((key, index) => ({ key, at: index + 1 }));
const faultsOf = (...keys: readonly PersonKey[]) =>
  personKeysOf(inOrder(...keys), pems).faults.map(({ fault }) => fault);
const replacing = (...vouching: TestPerson[]) => again.named(installation, vouching, cleo.fingerprint);

describe('keys of people', () => {
  it('count from the first administrator on, each by the word of one whose key counts', () => {
    const { keys, faults } = personKeysOf(inOrder(...FIRST), pems);
    expect(faults).toEqual([]);
    expect([...keys.values()].map(({ person, from, to }) => [person, from, to])).toEqual([
      ['Ada', 1, null],
      ['Ben', 2, null],
      ['Cleo', 3, null],
    ]);
  });

  it.each<[string, PersonKey, string]>([
    [
      'a second first administrator, for whom the installation alone vouches',
      again.named(installation),
      'not after the key before',
    ],
    ['somebody new for whom it alone vouches', new TestPerson('Eve', 'Eve').named(installation), 'not the first one'],
    ['one for whom a stranger vouches', new TestPerson('Eve', 'Eve').named(installation, [again]), 'not endorsed'],
    [
      'one for whom nobody but itself vouches',
      new TestPerson('Eve', 'Eve').named(installation, [new TestPerson('Eve', 'Eve')]),
      'not endorsed',
    ],
    [
      'one of another installation',
      new TestPerson('Eve', 'Eve').named(installationOf(), [ada]),
      'not by the installation',
    ],
    ['a second first key of a person', again.named(installation, [ada]), 'not after the key before'],
    ['a later key for which one alone vouches', replacing(ada), 'endorsed by one alone'],
    ['the same with one who vouches twice', replacing(ada, ada), 'endorsed by one alone'],
    ['the same with the person among them', replacing(ada, cleo), 'endorsed by one alone'],
  ])('refuse %s', (_, key, fault) => {
    expect(faultsOf(...FIRST, key)).toEqual([fault]);
  });

  it('take a later one for which two others vouch, and end the one before', () => {
    const { keys, faults } = personKeysOf(inOrder(...FIRST, replacing(ada, ben)), pems);
    expect(faults).toEqual([]);
    expect(keys.get(cleo.fingerprint)).toMatchObject({ to: 4 });
  });

  it('need fewer people only where so many others never had a key', () => {
    const { keys } = personKeysOf(inOrder(...FIRST), pems);
    expect([vouchingNeeded(keys, 'Eve'), vouchingNeeded(keys, 'Cleo')]).toEqual([1, 2]);
    const alone = new TestPerson('Ada', 'Ada Example', 'after the loss');
    const byLink = alone.named(installation, [ben], ada.fingerprint);
    expect(faultsOf(FIRST[0]!, { ...byLink, endorsements: [] })).toEqual([]);
    // Who left counts on: else closing accounts would do.
    const closed = [
      { closed: 'Ben', at: 4 },
      { closed: 'Cleo', at: 5 },
    ] as const;
    const named = [...inOrder(...FIRST), ...closed, { key: { ...byLink, endorsements: [] }, at: 6 }];
    expect(personKeysOf(named, pems).faults).toMatchObject([{ fault: 'not endorsed' }]);
  });

  it('let nobody vouch whose account was closed before', () => {
    const eve = new TestPerson('Eve', 'Eve').named(installation, [ben]);
    const named: Named[] = [...inOrder(...FIRST), { closed: 'Ben', at: 4 }, { key: eve, at: 5 }];
    expect(personKeysOf(named, pems).faults).toMatchObject([{ fault: 'not endorsed' }]);
  });

  it('hold no field that can be changed', () => {
    fc.assert(
      fc.property(fc.constantFrom(...(Object.keys(FIRST[2]!) as (keyof PersonKey)[])), fc.nat(200), (field, place) => {
        const key = JSON.parse(JSON.stringify(FIRST[2]!)) as Record<string, unknown>;
        const text = JSON.stringify(key[field]);
        const others = { replaces: sha256Hex('x'), endorsements: [], publicPem: ada.publicPem, link: ada.publicPem };
        key[field] = field in others ? others[field as keyof typeof others] : spoilt(text, place);
        expect(faultsOf(FIRST[0]!, FIRST[1]!, key as PersonKey)).toHaveLength(1);
      }),
    );
  });
});

/** Another letter in the place of one within a JSON text, not near its end: of base64 that may mean nothing. */
function spoilt(text: string, place: number): unknown {
  const at = 1 + (place % Math.max(1, Math.min(text.length - 6, 40)));
  return JSON.parse(`${text.slice(0, at)}${text[at] === 'B' ? 'C' : 'B'}${text.slice(at + 1)}`);
}

describe('a statement', () => {
  const said: UnsignedStatement = {
    format: 1,
    meaning: 'approved',
    subjects: [{ kind: 'recipe', key: 'R', revision: 1, digest: sha256Hex('recipe') }],
    beside: [],
    units: [],
    step: null,
    outcome: null,
    reason: null,
    person: { role: 'quality engineer', deputyFor: null },
    at: '2031-03-05T12:00:00.000Z',
    offset: '+01:00',
    demo: false,
  };
  const known = { installation: pems, people: personKeysOf([...inOrder(...FIRST), { closed: 'Ben', at: 9 }], pems) };
  const signed = signedBy(cleo, installation, said);
  const faultOf = (one: SignedStatement, at = 5) => faultOfSigned(one, known, at);
  const resigned = (change: Partial<SignedStatement['statement']['person']>): SignedStatement => {
    const statement = { ...signed.statement, person: { ...signed.statement.person, ...change } };
    const text = canonicalJson(statement);
    const signature = installation.sign(text).toString('base64');
    return { statement, digest: sha256Hex(text), personSignature: cleo.sign(text), signature };
  };

  it('holds by both keys, and by neither alone', () => {
    expect(faultOf(signed)).toBeUndefined();
    const eve = new TestPerson('Cleo', 'Cleo Example', 'of an intruder');
    const text = canonicalJson(signed.statement);
    // Who has the installation key alone signs with a key of their own in the place of the person's.
    expect(faultOf({ ...signed, personSignature: eve.sign(text) })).toBe('not the signature of the person');
    expect(faultOf({ ...signed, personSignature: signed.signature })).toBe('not the signature of the person');
    expect(faultOf({ ...signed, personSignature: '' })).toBe('not the signature of the person');
    expect(faultOf(signedBy(eve, installation, said))).toBe('unknown key of a person');
    // Who has the person's alone has none of the installation.
    expect(faultOf({ ...signed, signature: new OwnKey().sign(text) })).toBe('not its signature');
    expect(faultOf(signedBy(cleo, installationOf(), said))).toBe('unknown key');
  });

  it('takes no signature of another statement, nor the key of somebody else', () => {
    const other = signedBy(cleo, installation, { ...said, meaning: 'performed' });
    expect(faultOf({ ...signed, personSignature: other.personSignature })).toBe('not the signature of the person');
    expect(faultOf({ ...other, digest: signed.digest })).toBe('another digest');
    expect(faultOf(resigned({ code: 'Ada' }))).toBe('key of somebody else');
    expect(faultOf(resigned({ name: 'Somebody' }))).toBe('key of somebody else');
    expect(faultOf(resigned({ key: ada.fingerprint, code: 'Ada', name: ada.name }))).toBe(
      'not the signature of the person',
    );
    expect(faultOf(resigned({ recoveredBy: ['Ada', 'Ben'] }))).toBe('another course of the key');
  });

  it('was made while the key of its person was in use', () => {
    expect(faultOf(signed, 2)).toBe('not while the key was in use');
    const byBen = signedBy(ben, installation, said);
    expect([faultOf(byBen, 8), faultOf(byBen, 10)]).toEqual([undefined, 'not while the key was in use']);
  });
});
