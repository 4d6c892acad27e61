import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { ownDatabase } from './run-on-server.js';
import { until } from './until.js';

/**
 * A folder that takes its time to make, made by whichever process of a run needs it first; the others wait for it. Tests
 * copy it and leave it alone.
 * @param make makes the folder at the path that it is given.
 */
export async function template(name: string, make: (folder: string) => Promise<void>): Promise<string> {
  const folder = path.join(os.tmpdir(), 'templates', name);
  const claim = `${folder}.making`;
  const made = path.join(claim, 'made');
  const isMine = await until(() => (fs.existsSync(folder) ? 'made' : claimed(claim) ? 'mine' : undefined));
  if (isMine === 'made') return folder;
  try {
    // Between the look and the claim another process may have made it and given its claim back.
    if (fs.existsSync(folder)) return folder;
    await make(made);
    fs.renameSync(made, folder);
  } finally {
    // When it could not be made, the next process tries, and its test says why as well.
    fs.rmSync(claim, { recursive: true, force: true });
  }
  return folder;
}

export async function copyOfTemplate(name: string, make: (folder: string) => Promise<void>, to: string): Promise<void> {
  await copyOfFolder(await template(name, make), to);
}

/** A copy of a data folder that nobody has open, with its database wherever that is. */
export async function copyOfFolder(from: string, to: string): Promise<void> {
  fs.cpSync(from, to, { recursive: true });
  await ownDatabase(to);
}

function claimed(claim: string): boolean {
  fs.mkdirSync(path.dirname(claim), { recursive: true });
  try {
    fs.mkdirSync(claim);
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') return false;
    throw error;
  }
}
