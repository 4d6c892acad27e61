import fs from 'node:fs';
import { BadInputError } from '../base/errors.js';

/** Number of an open file descriptor with the passphrase, its line break left out. */
export const PASSPHRASE_FD = 'LOTWRIGHT_KEY_PASSPHRASE_FD';

let known: string | undefined;

/** What opens a locked key, for the time of this process. */
export function rememberPassphrase(passphrase: string | undefined): void {
  known = passphrase;
}

/**
 * The passphrase that somebody typed, or that comes by the file descriptor that the environment names.
 * @throws BadInputError when nothing can be read there.
 */
export function passphraseGiven(): string | undefined {
  const fd = process.env[PASSPHRASE_FD];
  if (known === undefined && fd !== undefined) known = readOnce(fd);
  return known;
}

function readOnce(fd: string): string {
  try {
    return fs.readFileSync(Number.parseInt(fd, 10), 'utf8').replace(/\r?\n$/, '');
  } catch (error) {
    throw new BadInputError([
      {
        code: 'passphrase',
        field: PASSPHRASE_FD,
        found: `${fd} (${(error as Error).message})`,
        expected: 'the number of an open file descriptor with the passphrase of the key',
        remedy: `start as ${PASSPHRASE_FD}=3 lotwright … 3< FILE`,
      },
    ]);
  }
}
