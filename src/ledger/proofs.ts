import { type NodeAt, nodeHash, peaksOf, rootOfPeaks } from './tree.js';

/**
 * Proofs over the tree of the ledger, by RFC 6962 section 2.1 and, for verifying, RFC 9162 section 2.1. Leaves are
 * counted from 0 here: entry `seq` of the ledger is leaf `seq − 1`. Hashes are hexadecimal.
 */

/** Leaves `from` to `to − 1`: an element of a proof is the root over such a stretch. */
interface Stretch {
  readonly from: number;
  readonly to: number;
}

/** For each element of a proof, the stored nodes that give its hash, largest first. Together they are O(log n). */
export type ProofPlan = readonly (readonly NodeAt[])[];

/** PATH(index, D[size]) of RFC 6962 section 2.1.1: which nodes show that a leaf is in the tree of that size. */
export function inclusionPlan(index: number, size: number): ProofPlan {
  if (!(Number.isInteger(index) && Number.isInteger(size) && index >= 0 && index < size)) {
    throw new RangeError(`there is no leaf ${index} in a tree of ${size}`);
  }
  const path: Stretch[] = [];
  let [from, to] = [0, size];
  while (to - from > 1) {
    const middle = from + splitOf(to - from);
    if (index < middle) {
      path.unshift({ from: middle, to });
      to = middle;
    } else {
      path.unshift({ from, to: middle });
      from = middle;
    }
  }
  return path.map(nodesOf);
}

/** PROOF(from, D[to]) of RFC 6962 section 2.1.2: which nodes show that the tree of `oldSize` only grew to `size`. */
export function consistencyPlan(oldSize: number, size: number): ProofPlan {
  if (!(Number.isInteger(oldSize) && Number.isInteger(size) && oldSize >= 0 && oldSize <= size)) {
    throw new RangeError(`a tree of ${oldSize} does not grow to ${size}`);
  }
  if (oldSize === 0 || oldSize === size) return [];
  const path: Stretch[] = [];
  let [from, to] = [0, size];
  while (to !== oldSize) {
    const middle = from + splitOf(to - from);
    if (oldSize <= middle) {
      path.unshift({ from: middle, to });
      to = middle;
    } else {
      path.unshift({ from, to: middle });
      from = middle;
    }
  }
  // The old tree itself needs no telling; a part of it does.
  if (from > 0) path.unshift({ from, to });
  return path.map(nodesOf);
}

/** The hashes of a proof, from the stored nodes that its plan names. */
export function proofFrom(plan: ProofPlan, hashOf: (node: NodeAt) => string): string[] {
  return plan.map((nodes) => rootOfPeaks(nodes.map(hashOf)));
}

/**
 * Whether a leaf is in the tree with this root: RFC 9162 section 2.1.3.2.
 * @param proof as RFC 6962 gives it, lowest first.
 */
export function verifyInclusion(claim: {
  readonly index: number;
  readonly size: number;
  readonly leaf: string;
  readonly root: string;
  readonly proof: readonly string[];
}): boolean {
  const { index, size, leaf, root, proof } = claim;
  if (!isCount(index) || !isCount(size) || index >= size || ![leaf, root, ...proof].every(isHash)) return false;
  let [at, last, hash] = [index, size - 1, leaf];
  for (const sibling of proof) {
    if (last === 0) return false;
    if (at % 2 === 1 || at === last) {
      hash = nodeHash(sibling, hash);
      while (at % 2 === 0 && at !== 0) [at, last] = [at / 2, half(last)];
    } else {
      hash = nodeHash(hash, sibling);
    }
    [at, last] = [half(at), half(last)];
  }
  return last === 0 && hash === root;
}

/** Whether the tree with the old root only grew into the one with the new root: RFC 9162 section 2.1.4.2. */
export function verifyConsistency(claim: {
  readonly oldSize: number;
  readonly size: number;
  readonly oldRoot: string;
  readonly root: string;
  readonly proof: readonly string[];
}): boolean {
  const { oldSize, size, oldRoot, root, proof } = claim;
  if (!isCount(oldSize) || !isCount(size) || oldSize > size || ![oldRoot, root, ...proof].every(isHash)) return false;
  if (oldSize === size) return proof.length === 0 && oldRoot === root;
  // Nothing was there: whatever is there now has grown from it.
  if (oldSize === 0) return proof.length === 0 && oldRoot === rootOfPeaks([]);
  const path = isPowerOfTwo(oldSize) ? [oldRoot, ...proof] : proof;
  const [first, ...rest] = path;
  if (first === undefined) return false;
  let [at, last] = [oldSize - 1, size - 1];
  while (at % 2 === 1) [at, last] = [half(at), half(last)];
  let [oldHash, hash] = [first, first];
  for (const sibling of rest) {
    if (last === 0) return false;
    if (at % 2 === 1 || at === last) {
      oldHash = nodeHash(sibling, oldHash);
      hash = nodeHash(sibling, hash);
      while (at % 2 === 0 && at !== 0) [at, last] = [at / 2, half(last)];
    } else {
      hash = nodeHash(hash, sibling);
    }
    [at, last] = [half(at), half(last)];
  }
  return last === 0 && oldHash === oldRoot && hash === root;
}

/** The largest power of two below `count`. */
function splitOf(count: number): number {
  let split = 1;
  while (split * 2 < count) split *= 2;
  return split;
}

/** In these trees a stretch begins at a multiple of every subtree that it holds. */
function nodesOf({ from, to }: Stretch): NodeAt[] {
  return peaksOf(to - from).map(({ level, index }) => ({ level, index: index + from / 2 ** level }));
}

const half = (value: number): number => Math.floor(value / 2);
const isCount = (value: number): boolean => Number.isSafeInteger(value) && value >= 0;
const isHash = (text: string): boolean => /^[0-9a-f]{64}$/.test(text);

function isPowerOfTwo(value: number): boolean {
  let power = 1;
  while (power < value) power *= 2;
  return power === value;
}
