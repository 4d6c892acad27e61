import fc from 'fast-check';
import { sha256Hex } from '../../src/dossier/canonical.js';
import type { SignedStatement } from '../../src/dossier/statement.js';
import type { Store } from '../../src/store/store.js';
import { signedBy } from '../support/person-keys.js';
import { nameQuinn, QUINN, signedStatement } from './fill.js';
import { ACTOR, openStore, temporaryFolder } from './open-store.js';

let remove: () => void;
let store: Store;
beforeAll(async () => {
  const { folder, remove: away } = temporaryFolder();
  remove = away;
  store = await openStore(folder);
});
afterAll(async () => {
  await store.close();
  remove();
});

/** Lots that LIKE takes for each other, by `_`, `%`, letters of both cases, and beginnings. */
const LOTS = ['L-1', 'L_1', 'L%1', 'l-1', 'l_1', 'L-10', 'L-', 'Ł-1', 'L.1'];

function statementOn(key: string): SignedStatement {
  const { statement } = signedStatement(store.key);
  const subjects = [{ kind: 'check finding', key, revision: null, digest: sha256Hex(key) }];
  return signedBy(QUINN, store.key, { ...statement, subjects });
}

describe('signatures on the findings of one lot', () => {
  beforeAll(async () => {
    await store.change(ACTOR, async (change) => {
      await nameQuinn(store.key)(change);
      for (const lot of LOTS) await change.signatures.add(statementOn(`${lot}:0123456789ab`));
    });
  });

  it.each(LOTS)('are those of %s and of no other, on both sides of the store', async (lot) => {
    const keys = (found: readonly { signed: SignedStatement }[]) =>
      found.flatMap(({ signed }) => signed.statement.subjects.map(({ key }) => key));
    expect(keys(await store.read.signatures.starting('check finding', `${lot}:`))).toEqual([`${lot}:0123456789ab`]);
    const inside = await store.change(ACTOR, (change) => change.signatures.starting('check finding', `${lot}:`));
    expect(keys(inside)).toEqual([`${lot}:0123456789ab`]);
    expect(await store.read.signatures.starting('log finding', `${lot}:`)).toEqual([]);
  });

  it('are found on an index', async () => {
    // As JavaScript compares what begins alike, whatever the letters are.
    await fc.assert(
      fc.asyncProperty(fc.constantFrom(...LOTS), fc.nat(4), async (lot, length) => {
        const start = `${lot}:0123`.slice(0, 1 + length);
        const found = await store.read.signatures.starting('check finding', start);
        expect(found.length).toBe(LOTS.filter((other) => `${other}:0123456789ab`.startsWith(start)).length);
      }),
    );
  });
});

describe('things by their name', () => {
  beforeAll(async () => {
    await store.change(ACTOR, async (change) => {
      for (const key of ['S-1:H_1', 'S-1:H-1', 'S-1:h_1', 'S-1:H%1', 'H_1', 'S-1:XH_1'])
        await change.entries.add({ kind: 'heat', key, name: key, body: { key }, links: [] });
    });
  });

  it.each([
    ['H_1', ['H_1', 'S-1:H_1']],
    ['H-1', ['S-1:H-1']],
    ['h_1', ['S-1:h_1']],
    ['H%1', ['S-1:H%1']],
    ['%', []],
    ['_', []],
    ['', []],
    ['S-1:H_1', ['S-1:H_1']],
  ])('%s', async (name, keys) => {
    expect((await store.read.trace.named(name)).map(({ key }) => key)).toEqual(keys);
  });
});
