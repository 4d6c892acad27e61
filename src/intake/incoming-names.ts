import type { Problem } from '../base/errors.js';

/** Characters of a path at most, as for a path that a document names. */
export const LONGEST_PATH = 300;
/** Names in it, its folders and its own: each folder costs memory and a place on the disk. */
export const DEEPEST_PATH = 20;
/** Bytes of one name in it: more fits no file system. */
export const LONGEST_NAME_BYTES = 255;

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
    if (
      path === '' ||
      steps.some((step) => step === '' || step === '.' || step === '..') ||
      /[\\:\p{Cc}]/u.test(path)
    ) {
      return [
        problem('path', name, 'a path that leads into this folder', 'pack the folder again, with plain relative names'),
      ];
    }
    if (path.length > LONGEST_PATH) {
      return [problem('path', name, `a path of at most ${LONGEST_PATH} characters`, 'use shorter names')];
    }
    if (steps.length > DEEPEST_PATH) {
      return [problem('path', name, `a path of at most ${DEEPEST_PATH} names`, 'put it into fewer folders')];
    }
    if (steps.some((step) => Buffer.byteLength(step) > LONGEST_NAME_BYTES)) {
      return [problem('path', name, `names of at most ${LONGEST_NAME_BYTES} bytes`, 'use shorter names')];
    }
    const above = steps.slice(0, -1).map((_, index) => steps.slice(0, index + 1).join('/'));
    return [...above.flatMap((folder) => this.place(folder, true)), ...this.place(path, isFolder, true)];
  }

  private place(name: string, isFolder: boolean, isListed = false): Problem[] {
    const folded = name.normalize('NFC').toLowerCase();
    const before = this.seen.get(folded);
    const isSecond = before !== undefined && isListed && (!isFolder || this.listedFolders.has(name));
    if (isListed && isFolder) this.listedFolders.add(name);
    if (before === undefined) {
      this.seen.set(folded, { name, isFolder });
      return [];
    }
    if (!isSecond && before.name === name && before.isFolder === isFolder) return [];
    const what = (folder: boolean) => (folder ? 'a folder' : 'a file');
    return [
      {
        code: 'name-twice',
        file: name,
        found: `${what(isFolder)} of this name beside ${what(before.isFolder)} ${before.name}`,
        expected: 'each name once, however it is written in capitals',
        remedy: 'keep one of the two, or rename it',
      },
    ];
  }
}

const problem = (code: string, file: string, expected: string, remedy: string): Problem => ({
  code,
  file,
  found: file,
  expected,
  remedy,
});
