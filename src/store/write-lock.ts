import { AppError } from '../base/errors.js';
import type { Db } from './db.js';

/**
 * Takes the lock row: the first statement of every change, so that a second writer waits here and not after it has read.
 * @returns how many entries the ledger holds, and the signed head that the last change left.
 * @throws AppError ALTERED when the ledger is shorter or longer than it was left.
 */
export async function takeWriteLock({ client: tx }: Db): Promise<{ size: number; head: string | null }> {
  const taken = await tx.ledgerLock.updateMany({ where: { id: 1 }, data: { size: { increment: 0 } } });
  if (taken.count === 0) await tx.ledgerLock.create({ data: { id: 1, size: 0 } });
  const { size, head } = await tx.ledgerLock.findUniqueOrThrow({ where: { id: 1 } });
  const last = await tx.ledgerEntry.findFirst({ orderBy: { seq: 'desc' }, select: { seq: true } });
  if (size === (last?.seq ?? 0)) return { size, head };
  throw new AppError(
    'ALTERED',
    `the ledger ends at entry ${last?.seq ?? 0} but was left at ${size}: somebody changed the database from outside`,
  );
}
