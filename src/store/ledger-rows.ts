import { AppError } from '../base/errors.js';
import { faultOfLastHead, noteKeysOf } from '../ledger/checkpoint.js';
import { GrowingTree, type NodeAt, peaksOf } from '../ledger/tree.js';
import type { Prisma } from './generated/client.js';
import { installationKeysIn } from './people-rows.js';
import { LEAVES, NODES } from './sql/lists.js';

/** Both sides read the ledger the same way: the reading connection, and a change. */
type Rows = Pick<Prisma.TransactionClient, 'event' | 'signature' | '$queryRawUnsafe'>;

/**
 * Hashes of stored nodes, read in two queries.
 * @returns what gives the hash of each of them; it throws AppError ALTERED for one that is not stored.
 */
export async function ledgerHashesIn(rows: Rows, nodes: readonly NodeAt[]): Promise<(node: NodeAt) => string> {
  const inner = nodes.filter(({ level }) => level > 0).map(({ level, index }) => [level, index]);
  const seqs = nodes.filter(({ level }) => level === 0).map(({ index }) => index + 1);
  const leaves = await rows.$queryRawUnsafe<{ seq: number; leaf: string }[]>(LEAVES, JSON.stringify(seqs));
  const stored = await rows.$queryRawUnsafe<(NodeAt & { hash: string })[]>(NODES, JSON.stringify(inner));
  const hashes = new Map(stored.map(({ level, index, hash }) => [`${level} ${index}`, hash]));
  for (const { seq, leaf } of leaves) hashes.set(`0 ${seq - 1}`, leaf);
  return ({ level, index }) => {
    const hash = hashes.get(`${level} ${index}`);
    if (hash !== undefined) return hash;
    throw new AppError('ALTERED', `the ledger lacks a node (level ${level}, place ${index}): run ledger verify`);
  };
}

/**
 * The tree that the last change left, from stored nodes, held against the head that it signed: nothing is appended to a
 * ledger that was written anew from outside.
 * @throws AppError ALTERED when the head is missing, not signed by a key of this folder, or of another tree.
 */
export async function treeLeftBehind(rows: Rows, size: number, head: string | null): Promise<GrowingTree> {
  if (size === 0) return new GrowingTree();
  const peaks = peaksOf(size);
  const hashOf = await ledgerHashesIn(rows, peaks);
  const tree = GrowingTree.of(size, peaks.map(hashOf));
  const fault = faultOfLastHead(head, noteKeysOf(await installationKeysIn(rows)), size, tree.root());
  if (fault === undefined) return tree;
  throw new AppError('ALTERED', `${fault}: somebody changed the database from outside; run ledger verify`);
}
