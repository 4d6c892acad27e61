import { AppError } from '../base/errors.js';
import type { Db } from './db.js';

/**
 * Takes the lock row: the first statement of every change, so that a second writer waits here and not after it has read.
 * @returns how many entries the ledger holds, and the signed head that the last change left.
 * @throws AppError ALTERED when the ledger is shorter or longer than it was left.
 */
export async function takeWriteLock(db: Db): Promise<{ size: number; head: string | null }> {
  // Both are asked at once. The second sees what there is once the first has its answer.
  const [[locked], [last]] = await Promise.all([db.ask(db.sql.LEDGER_LOCK_TAKE), db.ask(db.sql.LAST_ENTRY)]);
  const size = Number(locked!.size);
  const found = Number(last!.seq);
  if (size === found) return { size, head: locked!.head };
  throw new AppError(
    'ALTERED',
    `the ledger ends at entry ${found} but was left at ${size}: somebody changed the database from outside`,
  );
}
