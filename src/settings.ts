import { createHash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const CODE = path.dirname(fileURLToPath(import.meta.url));

/** The folder of the program: one above `src` and, once compiled, one above `dist`. */
export const PROGRAM_ROOT = path.dirname(CODE);

/**
 * Which code this is: SHA-256 over every file of the program and the lock file of its libraries. Two builds of one
 * version may compute or draw differently, and a record must be compared only with what made it.
 */
function buildId(): string {
  const hash = createHash('sha256').update(fs.readFileSync(path.join(PROGRAM_ROOT, 'package-lock.json')));
  const files = fs.readdirSync(CODE, { recursive: true, encoding: 'utf8' }).filter((name) => /\.(js|ts)$/.test(name));
  for (const name of files.sort()) hash.update(name).update(fs.readFileSync(path.join(CODE, name)));
  return hash.digest('hex').slice(0, 12);
}

const manifest = JSON.parse(fs.readFileSync(path.join(PROGRAM_ROOT, 'package.json'), 'utf8')) as { version: string };

export const PROGRAM_VERSION = manifest.version;
export const PROGRAM_BUILD = buildId();

/** Name, version and build as every page, record and ledger entry states it. */
export const PROGRAM = `Lotwright ${PROGRAM_VERSION} (build ${PROGRAM_BUILD})`;

/** The data folder when none is named: `LOTWRIGHT_DATA`, else `var/data` beside the program. */
export const defaultDataFolder = (): string => process.env.LOTWRIGHT_DATA ?? path.join(PROGRAM_ROOT, 'var', 'data');
