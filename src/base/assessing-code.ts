import { createHash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { lockedLibraries, PROGRAM_CODE } from './settings.js';

/** `.js` once compiled, `.ts` under tests. */
const EXTENSION = path.extname(fileURLToPath(import.meta.url));
/** What assesses, and what makes the first page of a lot of it: people sign on both. */
const ASSESSING = ['assessment/assess', 'report/lot-summary'];
/** What makes the views that are kept of lots. */
const KEEPING = ['lots/lot-line', 'signing/lot-signatures'];

/** What a module needs when it runs: types are no part of the compiled program, and turn no verdict. */
const NEEDED = /^(?:import|export)\s+(?!type\b)(?:[\w$*{},\s]*?\bfrom\s+)?'([^']+)'/gm;

interface AssessingCode {
  /** Text of each file by its path below the code of the program, `/` between folders. */
  readonly files: ReadonlyMap<string, string>;
  /** Names of the packages that they import. */
  readonly packages: readonly string[];
}

/**
 * The files that say what an assessment and the first page of a lot say: those that make them, and whatever they need,
 * directly or by others.
 * @param read gives the text of a file by its path below the code of the program.
 */
export const assessingCode = (read: (file: string) => string = readCode): AssessingCode => codeOf(ASSESSING, read);

/** The files that make what is kept of lots. */
export const keepingCode = (): AssessingCode => codeOf(KEEPING, readCode);

/** Files by their paths without an ending, and whatever they need. */
function codeOf(starts: readonly string[], read: (file: string) => string): AssessingCode {
  const files = new Map<string, string>();
  const packages = new Set<string>();
  const left = starts.map((file) => `${file}${EXTENSION}`);
  for (const file of left) {
    if (files.has(file)) continue;
    const text = read(file);
    files.set(file, text);
    for (const [, name] of text.matchAll(NEEDED)) {
      if (name!.startsWith('.'))
        left.push(path.posix.join(path.posix.dirname(file), name!).replace(/\.js$/, EXTENSION));
      else if (!name!.startsWith('node:')) packages.add(name!);
    }
  }
  return { files, packages: [...packages].sort() };
}

const readCode = (file: string): string => fs.readFileSync(path.join(PROGRAM_CODE, file), 'utf8');

/** The digest over these files and over the locked digests of what they take from outside. */
export function versionOf({ files, packages }: AssessingCode): string {
  const outside = lockedLibraries().filter(
    ([place = '']) => !place.startsWith('node_modules/') || packages.includes(place.replace('node_modules/', '')),
  );
  const own = [...files].sort(([a], [b]) => (a < b ? -1 : 1));
  const text = JSON.stringify([own, outside]);
  return createHash('sha256').update(text).digest('hex').slice(0, 12);
}
