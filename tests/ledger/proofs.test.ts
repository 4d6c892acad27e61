import { createHash } from 'node:crypto';
import fc from 'fast-check';
import {
  consistencyPlan,
  inclusionPlan,
  type ProofPlan,
  proofFrom,
  verifyConsistency,
  verifyInclusion,
} from '../../src/ledger/proofs.js';
import { EMPTY_ROOT, GrowingTree, leafHash, type NodeAt } from '../../src/ledger/tree.js';

const sha256 = (...parts: Buffer[]): Buffer => createHash('sha256').update(Buffer.concat(parts)).digest();
const join = (left: Buffer, right: Buffer): Buffer => sha256(Buffer.from([1]), left, right);

function splitOf(count: number): number {
  let split = 1;
  while (split * 2 < count) split *= 2;
  return split;
}

// MTH, PATH and SUBPROOF of RFC 6962 section 2.1, written down as the RFC says them: slow, recursive, over leaf hashes,
// and independent of the code under test.

function treeHead(leaves: readonly Buffer[]): Buffer {
  if (leaves.length === 0) return sha256();
  if (leaves.length === 1) return leaves[0]!;
  const split = splitOf(leaves.length);
  return join(treeHead(leaves.slice(0, split)), treeHead(leaves.slice(split)));
}

function path(index: number, leaves: readonly Buffer[]): Buffer[] {
  if (leaves.length === 1) return [];
  const split = splitOf(leaves.length);
  const [left, right] = [leaves.slice(0, split), leaves.slice(split)];
  return index < split ? [...path(index, left), treeHead(right)] : [...path(index - split, right), treeHead(left)];
}

function subproof(old: number, leaves: readonly Buffer[], whole: boolean): Buffer[] {
  if (old === leaves.length) return whole ? [] : [treeHead(leaves)];
  const split = splitOf(leaves.length);
  const [left, right] = [leaves.slice(0, split), leaves.slice(split)];
  return old <= split
    ? [...subproof(old, left, whole), treeHead(right)]
    : [...subproof(old - split, right, false), treeHead(left)];
}

/** What the store keeps: complete subtrees only. */
class StoredTree {
  readonly leaves: string[] = [];
  private readonly tree = new GrowingTree();
  private readonly nodes = new Map<string, string>();

  constructor(leaves: readonly string[]) {
    for (const leaf of leaves) this.append(leaf);
  }

  private append(leaf: string): void {
    this.nodes.set(`0 ${this.leaves.length}`, leaf);
    this.leaves.push(leaf);
    for (const { level, index, hash } of this.tree.add(leaf)) this.nodes.set(`${level} ${index}`, hash);
  }

  readonly hashOf = ({ level, index }: NodeAt): string => {
    const hash = this.nodes.get(`${level} ${index}`);
    if (hash === undefined) throw new Error(`node ${level} ${index} is not stored`);
    return hash;
  };

  proof = (plan: ProofPlan): string[] => proofFrom(plan, this.hashOf);
  root = (size: number): string => treeHead(this.buffers(size)).toString('hex');
  buffers = (size: number): Buffer[] => this.leaves.slice(0, size).map((leaf) => Buffer.from(leaf, 'hex'));
}

const hexes = (hashes: readonly Buffer[]): string[] => hashes.map((hash) => hash.toString('hex'));

describe('proofs of RFC 6962', () => {
  // Leaves, roots and proofs are those of the reference code of Certificate Transparency, as its successor tests them
  // (proof/verify_test.go of the public module transparency-dev/merkle); read from a public copy.
  const LEAVES = ['', '00', '10', '2021', '3031', '40414243', '5051525354555657', '606162636465666768696a6b6c6d6e6f'];
  const TREE = new StoredTree(LEAVES.map((hex) => leafHash(Buffer.from(hex, 'hex').toString('utf8'))));
  const [A, B, C] = [
    '5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e',
    'bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b',
    'd37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7',
  ];
  const EIGHT = [
    '96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7',
    A,
    '6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4',
  ];
  const CA = 'ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0';
  const SIX = '0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a';

  it.each([
    { seq: 1, size: 1, proof: [] },
    { seq: 1, size: 8, proof: EIGHT },
    { seq: 6, size: 8, proof: [B, CA, C] },
    { seq: 3, size: 3, proof: ['fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125'] },
    { seq: 2, size: 5, proof: ['6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d', A, B] },
  ])('show leaf $seq of $size as published', ({ seq, size, proof }) => {
    const index = seq - 1;
    expect(TREE.proof(inclusionPlan(index, size))).toEqual(proof);
    expect(verifyInclusion({ index, size, leaf: TREE.leaves[index]!, root: TREE.root(size), proof })).toBe(true);
  });

  it.each([
    { oldSize: 1, size: 1, proof: [] },
    { oldSize: 1, size: 8, proof: EIGHT },
    { oldSize: 6, size: 8, proof: [SIX, CA, C] },
    { oldSize: 2, size: 5, proof: [A, B] },
    {
      oldSize: 6,
      size: 7,
      proof: [SIX, 'b08693ec2e721597130641e8211e7eedccb4c26413963eee6c1e2ed16ffb1a5f', C],
    },
  ])('show the growth from $oldSize to $size as published', ({ oldSize, size, proof }) => {
    expect(TREE.proof(consistencyPlan(oldSize, size))).toEqual(proof);
    const claim = { oldSize, size, oldRoot: TREE.root(oldSize), root: TREE.root(size), proof };
    expect(verifyConsistency(claim)).toBe(true);
  });

  // RFC 6962 section 2.1.3 draws a tree of seven leaves d0 to d6 and names the nodes of its proofs.
  it('consist of the nodes that the example of RFC 6962 section 2.1.3 names', () => {
    const leaves = TREE.buffers(7);
    const [a, b, c, d, e, f, j] = leaves as [Buffer, Buffer, Buffer, Buffer, Buffer, Buffer, Buffer];
    const [g, h, i] = [join(a, b), join(c, d), join(e, f)];
    const [k, l] = [join(g, h), join(i, j)];
    const expectPath = (index: number, nodes: Buffer[]) =>
      expect(TREE.proof(inclusionPlan(index, 7))).toEqual(hexes(nodes));
    expectPath(0, [b, h, l]);
    expectPath(3, [c, g, l]);
    expectPath(4, [f, j, k]);
    expectPath(6, [i, k]);
    const expectGrowth = (oldSize: number, nodes: Buffer[]) =>
      expect(TREE.proof(consistencyPlan(oldSize, 7))).toEqual(hexes(nodes));
    expectGrowth(3, [c, d, g, l]);
    expectGrowth(4, [l]);
    expectGrowth(6, [i, j, k]);
  });
});

describe('proofs against the definitions of the RFC', () => {
  const SIZE = 70;
  const TREE = new StoredTree(Array.from({ length: SIZE }, (_, index) => leafHash(`entry ${index}`)));
  const places = fc
    .tuple(fc.integer({ min: 0, max: SIZE }), fc.integer({ min: 0, max: SIZE }))
    .map(([a, b]) => [Math.min(a, b), Math.max(a, b)] as const);

  it('are the same for every leaf of every size', () => {
    for (let size = 1; size <= SIZE; size += 1) {
      const leaves = TREE.buffers(size);
      const root = TREE.root(size);
      for (let index = 0; index < size; index += 1) {
        const proof = TREE.proof(inclusionPlan(index, size));
        expect(proof).toEqual(hexes(path(index, leaves)));
        expect(verifyInclusion({ index, size, leaf: TREE.leaves[index]!, root, proof })).toBe(true);
      }
    }
  });

  it('are the same for the growth between any two sizes', () => {
    fc.assert(
      fc.property(places, ([oldSize, size]) => {
        const proof = TREE.proof(consistencyPlan(oldSize, size));
        if (oldSize > 0) expect(proof).toEqual(hexes(subproof(oldSize, TREE.buffers(size), true)));
        const claim = { oldSize, size, oldRoot: TREE.root(oldSize), root: TREE.root(size), proof };
        expect(verifyConsistency(claim)).toBe(true);
      }),
      { numRuns: 1000 },
    );
  });

  it('show nothing else: another place, size, leaf, root, or a changed proof', () => {
    fc.assert(
      fc.property(places, fc.nat(), ([index, size], seed) => {
        fc.pre(index < size);
        const [leaf, root] = [TREE.leaves[index]!, TREE.root(size)];
        const proof = TREE.proof(inclusionPlan(index, size));
        const honest = { index, size, leaf, root, proof };
        for (const other of [
          { ...honest, index: index + 1 },
          { ...honest, index: index - 1 },
          { ...honest, size: 2 * size },
          { ...honest, leaf: flipped(leaf, seed) },
          { ...honest, root: flipped(root, seed) },
          { ...honest, proof: [...proof, root] },
          { ...honest, proof: [root, ...proof] },
          { ...honest, proof: [...proof, ''] },
          ...proof.map((hash, at) => ({ ...honest, proof: proof.with(at, flipped(hash, seed)) })),
          ...proof.map((_, at) => ({ ...honest, proof: proof.toSpliced(at, 1) })),
        ]) {
          expect(verifyInclusion(other)).toBe(false);
        }
      }),
      { numRuns: 300 },
    );
  });

  it('show no other growth', () => {
    fc.assert(
      fc.property(places, fc.nat(), ([oldSize, size], seed) => {
        fc.pre(oldSize > 0 && oldSize < size);
        const [oldRoot, root] = [TREE.root(oldSize), TREE.root(size)];
        const proof = TREE.proof(consistencyPlan(oldSize, size));
        const honest = { oldSize, size, oldRoot, root, proof };
        for (const other of [
          { ...honest, oldSize: size, size: oldSize },
          { ...honest, oldRoot: root, root: oldRoot },
          { ...honest, oldRoot: flipped(oldRoot, seed) },
          { ...honest, root: flipped(root, seed) },
          { ...honest, proof: [] },
          { ...honest, proof: [...proof, root] },
          { ...honest, proof: [oldRoot, ...proof] },
          ...proof.map((hash, at) => ({ ...honest, proof: proof.with(at, flipped(hash, seed)) })),
          ...proof.map((_, at) => ({ ...honest, proof: proof.toSpliced(at, 1) })),
        ]) {
          expect(verifyConsistency(other)).toBe(false);
        }
      }),
      { numRuns: 300 },
    );
  });

  it('need a logarithmic number of stored nodes, however long the ledger', () => {
    const sizes = fc.integer({ min: 1, max: 2 ** 45 });
    fc.assert(
      fc.property(sizes, sizes, (a, b) => {
        const [small, size] = [Math.min(a, b), Math.max(a, b)];
        const levels = Math.floor(Math.log2(size)) + 1;
        for (const plan of [inclusionPlan(small - 1, size), consistencyPlan(small, size)]) {
          expect(plan.length).toBeLessThanOrEqual(levels + 1);
          expect(plan.flat().length).toBeLessThanOrEqual(3 * levels);
        }
      }),
    );
  });

  it('refuse a leaf beyond the end and a tree that shrinks', () => {
    expect(() => inclusionPlan(5, 5)).toThrow('no leaf 5 in a tree of 5');
    expect(() => inclusionPlan(-1, 5)).toThrow('no leaf -1');
    expect(() => consistencyPlan(6, 5)).toThrow('does not grow');
  });

  it('hold from nothing to anything only when nothing was claimed', () => {
    const root = TREE.root(3);
    expect(verifyConsistency({ oldSize: 0, size: 3, oldRoot: EMPTY_ROOT, root, proof: [] })).toBe(true);
    expect(verifyConsistency({ oldSize: 0, size: 3, oldRoot: root, root, proof: [] })).toBe(false);
    expect(verifyConsistency({ oldSize: 0, size: 3, oldRoot: EMPTY_ROOT, root, proof: [root] })).toBe(false);
  });
});

/** The same hash with one bit turned. */
function flipped(hash: string, seed: number): string {
  const bytes = Buffer.from(hash, 'hex');
  bytes[seed % 32]! ^= 1 << (seed % 8);
  return bytes.toString('hex');
}
