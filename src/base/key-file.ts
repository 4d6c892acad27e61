import fs from 'node:fs';
import path from 'node:path';
import { AppError } from './errors.js';

/** Writes a private key for its owner alone. Two programs may open a fresh folder at once: the first file stays, whole. */
export function writeKeyOnce(file: string, pem: string): void {
  fs.mkdirSync(path.dirname(file), { recursive: true, mode: 0o700 });
  const temporary = `${file}.${process.pid}.new`;
  fs.writeFileSync(temporary, pem, { mode: 0o600, flush: true });
  try {
    fs.linkSync(temporary, file);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
  } finally {
    fs.rmSync(temporary);
  }
}

/** @throws AppError CONFLICT when others on this machine may read a private key. */
export function refuseSharedKey(file: string): void {
  if (process.platform !== 'win32' && (fs.statSync(file).mode & 0o077) !== 0) {
    throw new AppError('CONFLICT', `${file} can be read by others on this machine; set its mode to 0600`);
  }
}
