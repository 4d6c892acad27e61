import path from 'node:path';
import Database from 'better-sqlite3';
import { AppError } from '../../base/errors.js';

/** The mark of the one service on a data folder: a lock in a database of its own, which goes with the process. */
export function takeServiceLock(folder: string): { close(): void } {
  const lock = new Database(path.join(folder, 'service.lock'), { timeout: 0 });
  try {
    lock.exec('BEGIN EXCLUSIVE');
  } catch {
    lock.close();
    throw new AppError('BUSY', `another service runs on ${folder}; stop it, or choose another data folder`);
  }
  return lock;
}
