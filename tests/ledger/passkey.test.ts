import { expect, it } from 'vitest';
import { type Passkey, passkeysOf, passkeyText } from '../../src/ledger/passkey.js';
import type { PersonKeys } from '../../src/ledger/person-keys.js';
import { TestPerson } from '../support/person-keys.js';

const ADA = new TestPerson('P-A', 'Ada');
const BO = new TestPerson('P-B', 'Bo');
const NOBODY = { fingerprint: 'none', sign: () => Buffer.alloc(0) };
const KEYS: PersonKeys = {
  keys: new Map([ADA, BO].map((one) => [one.fingerprint, { ...one.named(NOBODY), from: 0, to: null }])),
  faults: [],
};

function madeBy(owner: TestPerson, credential: string): Passkey {
  const passkey = {
    person: owner.person,
    credential,
    label: 'desk',
    algorithm: 'EdDSA' as const,
    publicPem: owner.publicPem,
    host: 'lots.example',
    counter: 0,
    key: owner.fingerprint,
  };
  return { ...passkey, signature: owner.sign(passkeyText(passkey)) };
}

it('leaves a passkey with its person when another one claims the name of it', () => {
  const [own, claimed] = [madeBy(ADA, 'AAAA'), madeBy(BO, 'AAAA')];
  const { passkeys, unsigned } = passkeysOf(
    [
      { made: own, at: 1 },
      { made: claimed, at: 2 },
    ],
    KEYS,
  );
  expect(passkeys).toEqual([own]);
  expect(unsigned).toEqual([{ made: claimed, at: 2 }]);
});
