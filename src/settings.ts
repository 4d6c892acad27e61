import fs from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

/** The folder of the program: one above `src` and, once compiled, one above `dist`. */
export const PROGRAM_ROOT = path.dirname(path.dirname(fileURLToPath(import.meta.url)));

const manifest = JSON.parse(fs.readFileSync(path.join(PROGRAM_ROOT, 'package.json'), 'utf8')) as { version: string };

/** Name and version as every page, record and ledger entry states it. */
export const PROGRAM = `Lotwright ${manifest.version}`;

/** The data folder when none is named: `LOTWRIGHT_DATA`, else `var/data` beside the program. */
export const defaultDataFolder = (): string => process.env.LOTWRIGHT_DATA ?? path.join(PROGRAM_ROOT, 'var', 'data');
