import { codeOf, UNFIT_IN_NAMES } from '../base/characters.js';
import type { Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';

/**
 * Paths of files that came in from elsewhere, one after the other. What would leave its folder, lie upon another or hide
 * others is refused; so is what only some file systems tell apart.
 */
export class IncomingNames {
  /** By how a file system that knows no capitals sees it. */
  private readonly seen = new Map<string, { readonly name: string; readonly isFolder: boolean }>();
  private readonly listedFolders = new Set<string>();

  /**
   * @param name path with forward slashes; that of a folder ends with one.
   * @returns what is wrong with it.
   */
  add(name: string): Problem[] {
    const isFolder = name.endsWith('/');
    const path = isFolder ? name.slice(0, -1) : name;
    const steps = path.split('/');
    if (path === '' || steps.some((step) => step === '' || step === '.' || step === '..') || /[\\:]/.test(path)) {
      return [
        problem('path', name, 'a path that leads into this folder', 'pack the folder again, with plain relative names'),
      ];
    }
    const unfit = unfitPath(name, steps);
    if (unfit) return [unfit];
    const above = steps.slice(0, -1).map((_, index) => steps.slice(0, index + 1).join('/'));
    return [...above.flatMap((folder) => this.place(folder, true)), ...this.place(path, isFolder, true)];
  }

  private place(name: string, isFolder: boolean, isListed = false): Problem[] {
    const folded = sameName(name).toLowerCase();
    const before = this.seen.get(folded);
    const isSecond = before !== undefined && isListed && (!isFolder || this.listedFolders.has(name));
    if (isListed && isFolder) this.listedFolders.add(name);
    if (before === undefined) {
      this.seen.set(folded, { name, isFolder });
      return [];
    }
    if (!isSecond && before.name === name && before.isFolder === isFolder) return [];
    const what = (folder: boolean) => (folder ? 'a folder' : 'a file');
    return [twice(name, `${what(isFolder)} of this name beside ${what(before.isFolder)} ${before.name}`)];
  }
}

const twice = (file: string, found: string): Problem => ({
  code: 'name-twice',
  file,
  found,
  expected: 'each name once, however its capitals and accents are written',
  remedy: 'keep one of the two, or rename it',
});

const problem = (code: string, file: string, expected: string, remedy: string): Problem => ({
  code,
  file,
  found: file,
  expected,
  remedy,
});

/** What only the writing of accents tells apart is one name. */
export const sameName = (name: string): string => name.normalize('NFC');

/**
 * What is wrong with a name that a folder of this machine has.
 * @param seen names that came before, by `sameName`.
 */
export function nameProblems(name: string, seen: Map<string, string>): Problem[] {
  const unfit = unfitPath(name, name.split('/'));
  if (unfit) return [unfit];
  const before = seen.get(sameName(name));
  seen.set(sameName(name), name);
  return before === undefined
    ? []
    : [twice(name, `a name that differs from another one in how its accents are written`)];
}

/** Characters of a path at most as in a path that a document names; each folder costs memory and a place on the disk. */
function unfitPath(name: string, steps: readonly string[]): Problem | undefined {
  const unfit = UNFIT_IN_NAMES.exec(name)?.[0];
  if (unfit !== undefined) {
    const found = `${codeOf(unfit)} in a name, a character that cannot be seen`;
    return { ...problem('path', name, 'names of characters that can be seen', 'rename the file'), found };
  }
  if (name.length > MOST.pathCharacters) {
    return problem('path', name, `a path of at most ${MOST.pathCharacters} characters`, 'use shorter names');
  }
  if (steps.length > MOST.pathNames) {
    return problem('path', name, `a path of at most ${MOST.pathNames} names`, 'put it into fewer folders');
  }
  if (steps.some((step) => Buffer.byteLength(step) > MOST.nameBytes)) {
    return problem('path', name, `names of at most ${MOST.nameBytes} bytes`, 'use shorter names');
  }
  return undefined;
}
