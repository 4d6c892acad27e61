import { createHash } from 'node:crypto';
import fc from 'fast-check';
import { EMPTY_ROOT, GrowingTree, leafHash, nodeHash, peaksOf, rootOfPeaks } from '../../src/ledger/tree.js';

const sha256 = (...parts: Buffer[]): Buffer => createHash('sha256').update(Buffer.concat(parts)).digest();

/** MTH of RFC 6962 §2.1, written down as the RFC says it: slow, recursive, and independent of the code under test. */
function treeHead(leaves: readonly Buffer[]): Buffer {
  if (leaves.length === 0) return sha256();
  if (leaves.length === 1) return sha256(Buffer.from([0]), leaves[0]!);
  let split = 1;
  while (split * 2 < leaves.length) split *= 2;
  return sha256(Buffer.from([1]), treeHead(leaves.slice(0, split)), treeHead(leaves.slice(split)));
}

const rootBuiltOver = (leaves: readonly string[]): string => {
  const tree = new GrowingTree();
  for (const leaf of leaves) tree.add(leaf);
  return tree.root();
};

/** Appends leaves as the store does, keeping complete subtrees only. */
function storedNodes(leaves: readonly string[]): Map<string, string> {
  const stored = new Map<string, string>();
  const tree = new GrowingTree();
  leaves.forEach((leaf, place) => {
    stored.set(`0 ${place}`, leaf);
    for (const { level, index, hash } of tree.add(leaf)) {
      expect(stored.has(`${level} ${index}`)).toBe(false);
      stored.set(`${level} ${index}`, hash);
    }
  });
  return stored;
}

const rootFromStored = (stored: ReadonlyMap<string, string>, size: number): string =>
  rootOfPeaks(peaksOf(size).map((at) => stored.get(`${at.level} ${at.index}`)!));

const texts = (count: number): string[] => Array.from({ length: count }, (_, index) => `entry ${index} µ`);

describe('the hash tree of RFC 6962', () => {
  // The eight leaves and the roots over the first n of them are the test tree of the Certificate Transparency
  // reference code (testonly/constants.go of the public module transparency-dev/merkle); read from a public copy.
  const LEAVES = ['', '00', '10', '2021', '3031', '40414243', '5051525354555657', '606162636465666768696a6b6c6d6e6f'];
  const ROOTS = [
    'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855',
    '6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d',
    'fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125',
    'aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77',
    'd37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7',
    '4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4',
    '76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef',
    'ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c',
    '5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328',
  ];
  const textOf = (hex: string): string => Buffer.from(hex, 'hex').toString('utf8');

  it.each(ROOTS.map((root, size) => [size, root]))('has the published root over %d leaves', (size, root) => {
    const leaves = LEAVES.slice(0, size);
    expect(rootBuiltOver(leaves.map((hex) => leafHash(textOf(hex))))).toBe(root);
    expect(treeHead(leaves.map((hex) => Buffer.from(hex, 'hex'))).toString('hex')).toBe(root);
  });

  // Every complete subtree over the eight leaves, level by level (NodeHashes of the same file).
  const NODES = [
    [
      '6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d',
      '96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7',
      '0298d122906dcfc10892cb53a73992fc5b9f493ea4c9badb27b791b4127a7fe7',
      '07506a85fd9dd2f120eb694f86011e5bb4662e5c415a62917033d4a9624487e7',
      'bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b',
      '4271a26be0d8a84f0bd54c8c302e7cb3a3b5d1fa6780a40bcce2873477dab658',
      'b08693ec2e721597130641e8211e7eedccb4c26413963eee6c1e2ed16ffb1a5f',
      '46f6ffadd3d06a09ff3c5860d2755c8b9819db7df44251788c7d8e3180de8eb1',
    ],
    [
      'fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125',
      '5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e',
      '0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a',
      'ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0',
    ],
    [
      'd37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7',
      '6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4',
    ],
    ['5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328'],
  ];

  it('stores the published node for every complete subtree, and no other', () => {
    const stored = storedNodes(LEAVES.map((hex) => leafHash(textOf(hex))));
    const published = NODES.flatMap((hashes, level) => hashes.map((hash, at) => [`${level} ${at}`, hash] as const));
    expect(stored).toEqual(new Map(published));
  });

  it('hashes the empty tree, a leaf and a node with the prefixes of the RFC', () => {
    expect(EMPTY_ROOT).toBe(ROOTS[0]);
    // Leaf "L123456" and node N123 | N456: rfc6962/rfc6962_test.go of the same module at 78493b0.
    expect(leafHash('L123456')).toBe('395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56');
    expect(leafHash('L123456')).toBe(sha256(Buffer.from('\0L123456')).toString('hex'));
    const hexOf = (text: string) => Buffer.from(text).toString('hex');
    const published = 'aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb';
    expect(nodeHash(hexOf('N123'), hexOf('N456'))).toBe(published);
    const [left, right] = [leafHash('a'), leafHash('b')];
    const bytes = Buffer.concat([Buffer.from([1]), Buffer.from(left, 'hex'), Buffer.from(right, 'hex')]);
    expect(nodeHash(left, right)).toBe(sha256(bytes).toString('hex'));
  });

  it('gives the root of the definition for every size from 0 to 100, built or read from stored nodes', () => {
    const all = texts(100);
    const stored = storedNodes(all.map(leafHash));
    for (let size = 0; size <= all.length; size += 1) {
      const expected = treeHead(all.slice(0, size).map((text) => Buffer.from(text, 'utf8'))).toString('hex');
      expect(rootBuiltOver(all.slice(0, size).map(leafHash))).toBe(expected);
      expect(rootFromStored(stored, size)).toBe(expected);
    }
  });

  it('needs a logarithmic number of nodes for a root and for going on', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 2 ** 40 }), (size) => {
        const levels = Math.floor(Math.log2(size)) + 1;
        expect(peaksOf(size).length).toBeLessThanOrEqual(levels);
        expect(peaksOf(size).reduce((sum, peak) => sum + 2 ** peak.level, 0)).toBe(size);
      }),
    );
  });

  it('goes on from the complete subtrees of any size', () => {
    const all = texts(60).map(leafHash);
    const stored = storedNodes(all);
    for (let size = 0; size <= all.length; size += 1) {
      const hashes = peaksOf(size).map((at) => stored.get(`${at.level} ${at.index}`)!);
      const tree = GrowingTree.of(size, hashes);
      const before = tree.copy();
      for (const leaf of all.slice(size)) tree.add(leaf);
      expect([tree.size, tree.root()]).toEqual([all.length, rootBuiltOver(all)]);
      expect([before.size, before.root()]).toEqual([size, rootFromStored(stored, size)]);
    }
  });

  it('changes its root when one bit of one leaf changes, or two leaves change places', () => {
    for (const size of [1, 2, 3, 7, 8, 33]) {
      const leaves = texts(size).map(leafHash);
      const root = rootBuiltOver(leaves);
      leaves.forEach((leaf, index) => {
        const bytes = Buffer.from(leaf, 'hex');
        bytes[index % 32]! ^= 1 << (index % 8);
        expect(rootBuiltOver(leaves.with(index, bytes.toString('hex')))).not.toBe(root);
        const next = (index + 1) % size;
        if (next !== index) expect(rootBuiltOver(leaves.with(index, leaves[next]!).with(next, leaf))).not.toBe(root);
      });
    }
  });
});
