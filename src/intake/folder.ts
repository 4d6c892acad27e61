import fs from 'node:fs';
import path from 'node:path';
import type { Problem } from '../base/errors.js';

/** A file of the folder that is taken in. `name` is its path inside the folder, with forward slashes. */
export interface FoundFile {
  readonly name: string;
  readonly path: string;
}

/** Files of a folder that is taken in. */
export const MOST_FILES = 20_000;

/** Bytes of what is read whole, at most: far more than people and their tables write. A log is read as it comes. */
export const LONGEST_DOCUMENT = 8 * 1024 ** 2;
export const LONGEST_SHEET = 32 * 1024 ** 2;

/** @returns the bytes of a file; undefined, and one problem more, for a file that is too long to be read whole. */
export function readWhole({ name, path }: FoundFile, most: number, problems: Problem[]): Buffer | undefined {
  const { size } = fs.statSync(path);
  if (size <= most) return fs.readFileSync(path);
  problems.push({
    code: 'too-long',
    file: name,
    found: `${size} bytes`,
    expected: `at most ${most} bytes of a file that is read whole`,
    remedy: 'split it; a log of a machine may be as long as it is, where the lot file names it and outside of results/',
  });
  return undefined;
}

/** Lists all files below a folder, without following links: a link may lead outside. */
export function listFolder(root: string): { files: FoundFile[]; problems: Problem[] } {
  const files: FoundFile[] = [];
  const problems: Problem[] = [];
  const visit = (folder: string): void => {
    for (const entry of fs.readdirSync(folder, { withFileTypes: true }).sort((a, b) => (a.name < b.name ? -1 : 1))) {
      const full = path.join(folder, entry.name);
      const name = path.relative(root, full).split(path.sep).join('/');
      if (entry.name.startsWith('.')) continue;
      if (entry.isSymbolicLink()) {
        problems.push({
          code: 'link',
          file: name,
          found: 'a link',
          expected: 'a file or a folder',
          remedy: 'put the file itself into the folder: a link may lead outside it',
        });
      } else if (entry.isDirectory()) visit(full);
      else if (entry.isFile()) files.push({ name, path: full });
    }
  };
  visit(root);
  if (files.length > MOST_FILES) {
    problems.push({
      code: 'too-many-files',
      found: `${files.length} files`,
      expected: `at most ${MOST_FILES}`,
      remedy: 'take in a part of the folder at a time',
    });
  }
  return { files, problems };
}

/** Folders that hold a lot.yaml. */
export function lotFolders(files: readonly FoundFile[]): string[] {
  return files
    .filter((file) => path.posix.basename(file.name) === 'lot.yaml')
    .map((file) => path.posix.dirname(file.name));
}

export const inside = (folder: string, name: string): boolean => folder === '.' || name.startsWith(`${folder}/`);

export const joined = (folder: string, name: string): string => (folder === '.' ? name : `${folder}/${name}`);
