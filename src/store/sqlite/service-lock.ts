import path from 'node:path';
import Database from 'better-sqlite3';
import { AppError } from '../../base/errors.js';

/**
 * The mark of the one service on a data folder, or of whoever must be alone there: a lock in a database of its own, which goes
 * with the process.
 */
export const takeServiceLock = (folder: string): { close(): void } => lockedBy(folder, 'BEGIN EXCLUSIVE');

/** The mark of one of several services, which all others but that one may have too. */
export const shareServiceLock = (folder: string): { close(): void } =>
  lockedBy(folder, 'BEGIN; SELECT count(*) FROM sqlite_master');

function lockedBy(folder: string, sql: string): { close(): void } {
  const lock = new Database(path.join(folder, 'service.lock'), { timeout: 0 });
  try {
    lock.exec(sql);
  } catch {
    lock.close();
    throw new AppError('BUSY', `another service runs on ${folder}; stop it, or choose another data folder`);
  }
  return lock;
}
