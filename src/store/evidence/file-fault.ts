import { createHash } from 'node:crypto';
import fs from 'node:fs';
import type { FileFault } from '../../ledger/stored-fault.js';

const READ_SIZE = 1 << 18;

/** What is wrong with a file that must have this SHA-256, or undefined. Memory does not grow with the file. */
export async function faultOfFile(file: string, sha256: string): Promise<FileFault | undefined> {
  let found: string;
  try {
    found = await hashOfFile(file);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    return code === 'ENOENT' ? { code: 'is missing' } : { code: 'cannot be read', facts: { error: String(code) } };
  }
  return found === sha256 ? undefined : { code: 'was altered' };
}

/** SHA-256 of a file, in hexadecimal digits. */
export async function hashOfFile(file: string): Promise<string> {
  const hash = createHash('sha256');
  for await (const piece of fs.createReadStream(file, { highWaterMark: READ_SIZE })) hash.update(piece as Buffer);
  return hash.digest('hex');
}
