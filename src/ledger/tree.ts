import { createHash, hash } from 'node:crypto';

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
  return hash('sha256', `\0${text}`, 'hex');
}

export function nodeHash(left: string, right: string): string {
  return hash('sha256', Buffer.from(`01${left}${right}`, 'hex'), 'hex');
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

/** A growing tree, holding one hash per level: what the next leaf and the root need, however long the ledger. */
export class GrowingTree {
  private readonly peaks: TreeNode[] = [];
  private count = 0;

  /** The tree of `size` leaves. @param hashes of its complete subtrees, in the order of `peaksOf(size)`. */
  static of(size: number, hashes: readonly string[]): GrowingTree {
    const tree = new GrowingTree();
    tree.peaks.push(...peaksOf(size).map((peak, place) => ({ ...peak, hash: hashes[place]! })));
    tree.count = size;
    return tree;
  }

  copy(): GrowingTree {
    return GrowingTree.of(
      this.count,
      this.peaks.map((peak) => peak.hash),
    );
  }

  /** @returns the inner nodes that are complete now, lowest first. They never change again. */
  add(leaf: string): TreeNode[] {
    const completed: TreeNode[] = [];
    let node: TreeNode = { level: 0, index: this.count, hash: leaf };
    while (this.peaks.at(-1)?.level === node.level) {
      const left = this.peaks.pop()!;
      node = { level: node.level + 1, index: left.index / 2, hash: nodeHash(left.hash, node.hash) };
      completed.push(node);
    }
    this.peaks.push(node);
    this.count += 1;
    return completed;
  }

  get size(): number {
    return this.count;
  }

  root(): string {
    return rootOfPeaks(this.peaks.map((peak) => peak.hash));
  }
}
