import { parseHead, readHead } from '../../src/ledger/checkpoint.js';
import { verifyConsistency, verifyInclusion } from '../../src/ledger/proofs.js';
import { leafHash } from '../../src/ledger/tree.js';
import type { Store } from '../../src/store/store.js';
import { ACTOR, openStore, temporaryFolder } from './open-store.js';

const { folder, remove } = temporaryFolder();
let store: Store;

const grow = (steps: number): Promise<void> =>
  store.change(ACTOR, async (change) => {
    for (let step = 0; step < steps; step += 1) {
      await change.entries.add({ kind: 'lot', key: 'L-1', name: 'L-1', body: { step }, links: [] });
    }
  });

beforeAll(async () => {
  store = await openStore(folder);
  await grow(40);
});
afterAll(async () => {
  await store.close();
  remove();
});

describe('heads and proofs of a data folder', () => {
  it('sign what the ledger is, under the key that the ledger names', async () => {
    const head = await store.proofs.signedHead();
    expect(head).toMatchObject({ size: await store.read.ledger.size(), root: await store.read.ledger.root(head.size) });
    expect(head.origin).toBe(`lotwright.invalid/${store.key.fingerprint.slice(0, 16)}`);
    const read = readHead(parseHead(head.checkpoint), await store.proofs.keys());
    expect(read).toEqual({
      origin: head.origin,
      size: head.size,
      root: head.root,
      signedBy: store.key.fingerprint,
      others: [],
    });
  });

  it('show every entry in every later head', async () => {
    const size = await store.read.ledger.size();
    for (const upTo of [1, 2, 7, 8, 33, size]) {
      const root = await store.read.ledger.root(upTo);
      for (let seq = 1; seq <= upTo; seq += 1) {
        const { entry, proof } = await store.proofs.inclusion(seq, upTo);
        expect(verifyInclusion({ index: seq - 1, size: upTo, leaf: leafHash(entry), root, proof })).toBe(true);
      }
    }
  });

  it('show that the ledger has only grown since a head', async () => {
    const before = await store.proofs.signedHead();
    await grow(9);
    const after = await store.proofs.signedHead();
    const { proof } = await store.proofs.consistency(before.size, after.size);
    const claim = { oldSize: before.size, size: after.size, oldRoot: before.root, root: after.root, proof };
    expect(after.size).toBe(before.size + 9);
    expect(verifyConsistency(claim)).toBe(true);
    expect(verifyConsistency({ ...claim, oldRoot: after.root })).toBe(false);
  });

  it('refuse what is not there', async () => {
    await expect(store.proofs.inclusion(5, 4)).rejects.toThrow('no leaf 4 in a tree of 4');
    await expect(store.proofs.inclusion(100_000, 100_000)).rejects.toThrow('no entry 100000');
    await expect(store.proofs.consistency(3, 2)).rejects.toThrow('does not grow');
    await expect(store.proofs.consistency(3, 100_000)).rejects.toMatchObject({ code: 'ALTERED' });
  });
});
