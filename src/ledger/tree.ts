import { createHash } from 'node:crypto';

/**
 * Hash tree over the ledger, by RFC 6962 section 2.1: a leaf is SHA-256(0x00 ‖ bytes), an inner node
 * SHA-256(0x01 ‖ left ‖ right), and the left subtree of n leaves holds the largest power of two below n.
 * Hashes are lower-case hexadecimal text.
 *
 * Only complete subtrees are stored: node (level, index) covers the leaves index·2^level to (index+1)·2^level − 1, so
 * that an append touches O(log n) nodes and nothing stored ever changes.
 */
export interface NodeAt {
  readonly level: number;
  readonly index: number;
}

export interface TreeNode extends NodeAt {
  readonly hash: string;
}

/** Root of the empty tree: SHA-256 of nothing. */
export const EMPTY_ROOT = createHash('sha256').digest('hex');

export function leafHash(text: string): string {
  return createHash('sha256').update('\0', 'latin1').update(text, 'utf8').digest('hex');
}

export function nodeHash(left: string, right: string): string {
  return createHash('sha256')
    .update('\x01', 'latin1')
    .update(Buffer.from(left, 'hex'))
    .update(Buffer.from(right, 'hex'))
    .digest('hex');
}

/** The stored nodes that appending leaf `index` (from 0) will be joined with, lowest first. */
export function siblingsOf(index: number): NodeAt[] {
  const siblings: NodeAt[] = [];
  for (let level = 0, at = index; at % 2 === 1; level++, at = (at - 1) / 2) siblings.push({ level, index: at - 1 });
  return siblings;
}

/**
 * The inner nodes that are complete once leaf `index` is there.
 * @param siblings hashes in the order of `siblingsOf(index)`.
 */
export function completedNodes(index: number, leaf: string, siblings: readonly string[]): TreeNode[] {
  const nodes: TreeNode[] = [];
  let hash = leaf;
  let at = index;
  siblings.forEach((sibling, place) => {
    hash = nodeHash(sibling, hash);
    at = (at - 1) / 2;
    nodes.push({ level: place + 1, index: at, hash });
  });
  return nodes;
}

/** The complete subtrees that together hold the first `size` leaves, largest first. */
export function peaksOf(size: number): NodeAt[] {
  const peaks: NodeAt[] = [];
  let start = 0;
  for (let level = Math.floor(Math.log2(Math.max(size, 1))); level >= 0; level--) {
    const width = 2 ** level;
    if (size - start >= width) {
      peaks.push({ level, index: start / width });
      start += width;
    }
  }
  return peaks;
}

/** The root over subtrees in the order of `peaksOf`. */
export function rootOfPeaks(hashes: readonly string[]): string {
  if (hashes.length === 0) return EMPTY_ROOT;
  return hashes.reduceRight((right, left) => nodeHash(left, right));
}

/** The root of a growing list of leaves, holding one hash per level: verifies a ledger of any length. */
export class RootBuilder {
  private readonly peaks: TreeNode[] = [];
  private count = 0;

  add(leaf: string): void {
    let node: TreeNode = { level: 0, index: this.count, hash: leaf };
    while (this.peaks.at(-1)?.level === node.level) {
      const left = this.peaks.pop()!;
      node = { level: node.level + 1, index: left.index / 2, hash: nodeHash(left.hash, node.hash) };
    }
    this.peaks.push(node);
    this.count += 1;
  }

  get size(): number {
    return this.count;
  }

  root(): string {
    return rootOfPeaks(this.peaks.map((peak) => peak.hash));
  }
}
