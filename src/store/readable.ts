import { AppError, LaterFormError } from '../base/errors.js';

/** What was stored can always be read, unless the file of the database was damaged or changed. */
export function readable<T>(what: string, read: () => T): T {
  try {
    return read();
  } catch (error) {
    if (error instanceof LaterFormError) throw error;
    throw new AppError('ALTERED', `${what} cannot be read: run ledger verify, and restore a backup`);
  }
}
