import { AppError } from '../base/errors.js';
import { PROGRAM_VERSION } from '../base/settings.js';
import { skewFault } from './clock-skew.js';
import type { Db } from './db.js';
import { GENERATION, olderFault } from './generation.js';

/**
 * Takes the lock row: the first statement of every change, so that a second writer waits here and not after it has read.
 * @returns how many entries the ledger holds, and the signed head that the last change left.
 * @throws AppError ALTERED when the ledger is shorter or longer than it was left; CONFLICT when a newer program changed the
 *   database, or the clock of this machine is minutes away from that of the server.
 */
export async function takeWriteLock(db: Db): Promise<{ size: number; head: string | null }> {
  // All are asked at once. The others see what there is once the first has its answer.
  const [[locked], [last], [readable]] = await Promise.all([
    db.ask(db.sql.LEDGER_LOCK_TAKE),
    db.ask(db.sql.LAST_ENTRY),
    db.ask(db.sql.GENERATION),
  ]);
  const fault = olderFault(readable) ?? (locked!.now === null ? undefined : skewFault(locked!.now));
  if (fault) throw fault;
  if (Number(readable?.number ?? 0) < GENERATION) await db.tell(db.sql.GENERATION_RAISE, GENERATION, PROGRAM_VERSION);
  const size = Number(locked!.size);
  const found = Number(last!.seq);
  if (size === found) return { size, head: locked!.head };
  throw new AppError(
    'ALTERED',
    `the ledger ends at entry ${found} but was left at ${size}: somebody changed the database from outside`,
  );
}
