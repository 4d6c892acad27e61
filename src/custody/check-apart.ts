import { spawn } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import type { Writable } from 'node:stream';
import { fileURLToPath } from 'node:url';
import { AppError } from '../base/errors.js';
import { PASSPHRASE_FD, passphraseGiven } from '../store/key-passphrase.js';
import type { Store } from '../store/store.js';
import { checkIntegrityAndRecord } from './integrity.js';

/** The command line, once compiled. */
const CLI = fileURLToPath(new URL('../cli.js', import.meta.url));
const FOUND_FAULTS = 6;
const LOW_PRIORITY = 10;

/**
 * Checks the integrity of a data folder in a process of its own: it reads every byte, and pages must not wait for that.
 * @returns whether it found faults; the event that it records names them.
 */
export async function checkApart(store: Store, signal: AbortSignal): Promise<boolean> {
  // From sources there is no command to start.
  if (!fs.existsSync(CLI)) return (await checkIntegrityAndRecord(store, 'program')).faults.length > 0;
  const passphrase = passphraseGiven();
  const child = spawn(process.execPath, [CLI, '--data', store.folder.path, 'check'], {
    stdio: ['ignore', 'ignore', 'ignore', passphrase === undefined ? 'ignore' : 'pipe'],
    env: { ...process.env, ...(passphrase === undefined ? {} : { [PASSPHRASE_FD]: '3' }) },
    signal,
  });
  (child.stdio[3] as Writable | null)?.end(passphrase);
  const ended = new Promise<number | null>((resolve, reject) => child.once('exit', resolve).once('error', reject));
  if (child.pid !== undefined) setLowPriority(child.pid);
  const code = await ended;
  if (code !== 0 && code !== FOUND_FAULTS && !signal.aborted) {
    throw new AppError('UNEXPECTED', `the command ended with ${code}`);
  }
  return code === FOUND_FAULTS;
}

/** Where the system does not allow it the check runs all the same. */
function setLowPriority(pid: number): void {
  try {
    os.setPriority(pid, LOW_PRIORITY);
  } catch {}
}
